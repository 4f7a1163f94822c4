//! The two kinds of message, to bytes and back.

use crate::{BoardMessage, FrameFault, Request};

/// What a frame carries: a [`Request`] to a board or a [`BoardMessage`] from one.
pub trait Message: Codec {}

impl Message for Request {}
impl Message for BoardMessage {}

/// Each is written and read here and not where it is used: how this crate is optimised then decides whether the bounds checks
/// of the integers' encoding, which cannot fail, are seen to be needless.
pub trait Codec: Sized {
    /// The number of bytes written; `None` if they do not fit.
    fn write(&self, bytes: &mut [u8]) -> Option<usize>;

    /// The message that is exactly these bytes.
    fn read(bytes: &[u8]) -> Result<Self, FrameFault>;
}

macro_rules! codec {
    ($message:ty) => {
        impl Codec for $message {
            #[inline(never)]
            fn write(&self, bytes: &mut [u8]) -> Option<usize> {
                postcard::to_slice(self, bytes).ok().map(|written| written.len())
            }

            #[inline(never)]
            fn read(bytes: &[u8]) -> Result<Self, FrameFault> {
                match postcard::take_from_bytes(bytes) {
                    Ok((message, [])) => Ok(message),
                    Ok(_) | Err(postcard::Error::DeserializeUnexpectedEnd) => Err(FrameFault::Length),
                    Err(_) => Err(FrameFault::UnknownMessage),
                }
            }
        }
    };
}

codec!(Request);
codec!(BoardMessage);
