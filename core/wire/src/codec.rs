//! Messages to bytes and back, field by field in the order of the README, which is that of the postcard format, version 1.
//!
//! Written out here: the format's own crate takes ten kilobytes of a chip's 32. The tests hold it to that crate.

use crate::bytes::{Reader, Writer};
use crate::{
    Abilities, Acceleration, Answer, Batch, BoardMessage, CrankAngle, CrankPattern, CrankSpeed, Depression,
    Disturbance, Event, EventKind, FirmwareVersion, FrameFault, FromBoard, FromIgnition, Greeting, Halt, HostMessage,
    IgnitionAnswer, IgnitionMessage, IgnitionRefusal, IgnitionReply, IgnitionRequest, Intake, PickupPattern, Piece,
    Ramp, Refusal, Reply, Request, Role, RunLength, SpeedRatio, Standing, StoredImage, TimingEdge, Upset,
};

/// What a frame carries: a [`Request`] to a board or a [`BoardMessage`] from one; of an ignition, an [`IgnitionRequest`] and a
/// [`FromIgnition`].
pub trait Message: Codec {}

impl Message for Request {}
impl Message for BoardMessage {}
impl Message for IgnitionRequest {}
impl Message for FromIgnition {}

/// A message or a part of one.
pub trait Codec: Sized {
    /// Appends its bytes.
    fn write(&self, to: &mut Writer<'_>);

    /// Takes it from the front of the bytes; after a fault, which the reader remembers, anything.
    fn read(from: &mut Reader<'_>) -> Self;
}

/// A structure is its fields.
macro_rules! fields {
    ($($type:ident { $($field:ident),+ })+) => { $(
        impl Codec for $type {
            #[inline(never)]
            fn write(&self, to: &mut Writer<'_>) {
                $(self.$field.write(to);)+
            }

            #[inline(never)]
            fn read(from: &mut Reader<'_>) -> Self {
                $(let $field = Codec::read(from);)+
                Self { $($field),+ }
            }
        }
    )+ };
}

/// A quantity is its number.
macro_rules! quantities {
    ($($type:ident)+) => { $(
        impl Codec for $type {
            #[inline]
            fn write(&self, to: &mut Writer<'_>) {
                self.0.write(to);
            }

            #[inline]
            fn read(from: &mut Reader<'_>) -> Self {
                Self(Codec::read(from))
            }
        }
    )+ };
}

/// A choice is its number and what belongs to it. An unknown number is a fault and stands for the one after `else`.
macro_rules! choices {
    (@ignore $inner:ident) => { _ };
    ($($type:ident { $($number:literal $variant:ident $(($inner:ident))?,)+ else $unknown:expr })+) => { $(
        impl Codec for $type {
            #[inline(never)]
            fn write(&self, to: &mut Writer<'_>) {
                // Its number first, for all alike: the compiler then sees that the number is the variant's place.
                to.number(match self {
                    $(Self::$variant $((choices!(@ignore $inner)))? => $number,)+
                });
                match self {
                    $($(Self::$variant($inner) => $inner.write(to),)?)+
                    #[allow(unreachable_patterns, reason = "every variant may have something of its own")]
                    _ => {}
                }
            }

            #[inline(never)]
            fn read(from: &mut Reader<'_>) -> Self {
                match from.number(u32::MAX) {
                    $($number => Self::$variant $(({
                        let $inner = Codec::read(from);
                        $inner
                    }))?,)+
                    _ => {
                        from.unknown();
                        $unknown
                    }
                }
            }
        }
    )+ };
}

fields! {
    Request { sequence, message }
    PickupPattern { pulses_in_two_turns, timing, second, timing_edge }
    Ramp { from, to, rate }
    CrankPattern { mean, ratio }
    Upset { after_pulses, disturbance }
    Halt { after, back }
    Intake { depression, throttle_closed }
    Reply { sequence, answer }
    Greeting { firmware, tick_rate_hz, clock_tolerance_ppm, role }
    FirmwareVersion { major, minor, patch }
    Abilities {
        shortest_interval, shortest_pulse, shortest_pulse_in_ramp, shortest_pulse_cranking, depression_step, throttle
    }
    Event { kind, ticks }
    IgnitionRequest { sequence, message }
    IgnitionReply { sequence, answer }
    Standing { turns, newest_version, stored, works_by }
    StoredImage { length, checksum, generation }
}

quantities! { CrankAngle CrankSpeed Acceleration SpeedRatio Depression }

choices! {
    HostMessage {
        0 Identify,
        1 KeepAlive,
        2 Stop,
        3 Pattern(pattern),
        4 Speed(speed),
        5 Ramp(ramp),
        6 Crank(pattern),
        7 Run(length),
        8 Upset(upset),
        9 Halt(halt),
        10 Intake(intake),
        else Self::Identify
    }
    IgnitionMessage {
        0 Identify,
        16 Stand,
        17 Read(at),
        18 Write(piece),
        19 Commit,
        else Self::Identify
    }
    FromIgnition {
        0 Reply(reply),
        2 Unreadable(fault),
        else Self::Unreadable(FrameFault::UnknownMessage)
    }
    IgnitionAnswer {
        0 Accepted,
        1 Refused(refusal),
        2 Greeting(greeting),
        16 Standing(standing),
        17 Piece(piece),
        else Self::Accepted
    }
    IgnitionRefusal {
        0 Turns,
        1 NotKept,
        2 Outside,
        3 NoImage,
        4 Version,
        5 Settings,
        6 NothingStored,
        else Self::NoImage
    }
    TimingEdge {
        0 Rising,
        1 Falling,
        else Self::Rising
    }
    RunLength {
        0 Sparks(count),
        1 Cycles(count),
        else Self::Sparks(0)
    }
    Disturbance {
        0 Lose,
        1 Add(after),
        2 Shift(early),
        else Self::Lose
    }
    Answer {
        0 Accepted,
        1 Refused(refusal),
        2 Greeting(greeting),
        else Self::Accepted
    }
    Role {
        0 Stimulator(abilities),
        1 Ignition,
        else Self::Ignition
    }
    Refusal {
        0 NoPattern,
        1 Turning,
        2 NotTurning,
        3 NotCranking,
        4 Pulses,
        5 FlankAngle,
        6 FlanksTooNear,
        7 Speed,
        8 TooFast,
        9 Rate,
        10 Ratio,
        11 Count,
        12 Depression,
        13 Upset,
        14 Halt,
        15 MotionWaits,
        16 UpsetWaits,
        17 NoSuchOutput,
        18 OtherRole,
        else Self::NoPattern
    }
    FrameFault {
        0 Length,
        1 Stuffing,
        2 Checksum,
        3 UnknownMessage,
        4 NewerProtocol(version),
        5 OlderProtocol(version),
        else Self::UnknownMessage
    }
    EventKind {
        0 Timing,
        1 Second,
        2 CoilOn,
        3 CoilOff,
        4 Begun(sequence),
        5 RampEnded,
        6 Finished,
        7 LostTiming,
        8 MovedTiming,
        9 MovedSecond,
        10 StrayTiming,
        11 StraySecond,
        12 Stopped,
        13 HostSilent,
        14 TimeMark,
        else Self::TimeMark
    }
}

impl FromBoard<'_> {
    pub(crate) fn write(&self, to: &mut Writer<'_>) {
        match self {
            Self::Reply(reply) => {
                to.number(0);
                reply.write(to);
            }
            Self::Events(batch) => {
                to.number(1);
                batch.write(to);
            }
            Self::Unreadable(fault) => {
                to.number(2);
                fault.write(to);
            }
        }
    }
}

impl Codec for BoardMessage {
    fn write(&self, to: &mut Writer<'_>) {
        self.lent().write(to);
    }

    fn read(from: &mut Reader<'_>) -> Self {
        match from.number(u32::MAX) {
            0 => Self::Reply(Codec::read(from)),
            1 => Self::Events(Codec::read(from)),
            2 => Self::Unreadable(Codec::read(from)),
            _ => {
                from.unknown();
                Self::Unreadable(FrameFault::UnknownMessage)
            }
        }
    }
}

impl Codec for Batch {
    #[inline(never)]
    fn write(&self, to: &mut Writer<'_>) {
        self.number.write(to);
        self.lost.write(to);
        self.start.write(to);
        // At most sixteen.
        to.number(u32::try_from(self.events.len()).unwrap_or(0));
        for event in &self.events {
            event.write(to);
        }
    }

    fn read(from: &mut Reader<'_>) -> Self {
        let mut batch =
            Self { number: Codec::read(from), lost: Codec::read(from), start: Codec::read(from), ..Self::default() };
        for _ in 0..from.number(u32::MAX) {
            if batch.events.push(Codec::read(from)).is_err() {
                from.unknown();
                break;
            }
        }
        batch
    }
}

/// A list of bytes after its place.
impl Codec for Piece {
    #[inline(never)]
    fn write(&self, to: &mut Writer<'_>) {
        self.at.write(to);
        let bytes = self.as_slice();
        to.number(u32::try_from(bytes.len()).unwrap_or(0));
        for &byte in bytes {
            to.byte(byte);
        }
    }

    #[inline(never)]
    fn read(from: &mut Reader<'_>) -> Self {
        let mut piece = Self::of(Codec::read(from), &[]);
        let length = from.number(u32::MAX);
        for _ in 0..length {
            let byte = from.byte();
            let Some(place) = piece.bytes.get_mut(usize::from(piece.length)) else {
                from.unknown();
                break;
            };
            *place = byte;
            piece.length = piece.length.saturating_add(1);
        }
        piece
    }
}

impl<T: Codec> Codec for Option<T> {
    fn write(&self, to: &mut Writer<'_>) {
        self.is_some().write(to);
        if let Some(value) = self {
            value.write(to);
        }
    }

    fn read(from: &mut Reader<'_>) -> Self {
        bool::read(from).then(|| T::read(from))
    }
}

impl Codec for bool {
    fn write(&self, to: &mut Writer<'_>) {
        to.byte(u8::from(*self));
    }

    #[inline(never)]
    fn read(from: &mut Reader<'_>) -> Self {
        match from.byte() {
            0 => false,
            1 => true,
            _ => {
                from.unknown();
                false
            }
        }
    }
}

impl Codec for u8 {
    fn write(&self, to: &mut Writer<'_>) {
        to.byte(*self);
    }

    fn read(from: &mut Reader<'_>) -> Self {
        from.byte()
    }
}

impl Codec for u16 {
    fn write(&self, to: &mut Writer<'_>) {
        to.number(u32::from(*self));
    }

    fn read(from: &mut Reader<'_>) -> Self {
        // The reader has seen that it fits.
        Self::try_from(from.number(u32::from(Self::MAX))).unwrap_or(Self::MAX)
    }
}

impl Codec for u32 {
    fn write(&self, to: &mut Writer<'_>) {
        to.number(*self);
    }

    fn read(from: &mut Reader<'_>) -> Self {
        from.number(Self::MAX)
    }
}

impl Codec for i32 {
    /// 2n for n of 0 or more, -2n - 1 for less.
    fn write(&self, to: &mut Writer<'_>) {
        to.number((self.cast_unsigned() << 1) ^ (self >> 31).cast_unsigned());
    }

    fn read(from: &mut Reader<'_>) -> Self {
        let number = from.number(u32::MAX);
        (number >> 1).cast_signed() ^ -(number & 1).cast_signed()
    }
}
