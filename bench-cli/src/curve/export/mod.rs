//! A sheet's settings for people who flash them, who compile them in, and for ignitions that want a table of their own.

mod c;
mod grid;
mod hex;
mod rust;
mod table;

pub use grid::{Grid, depressions_from, speeds_from};
pub use table::table;

use crate::curve::check::broken_limits_in_words;
use crate::sheet::{self, Settings, Sheet, SheetError};
use crate::words::shown::is_obeyed;
use bobweight::image::{EngineSettings, ImageError, LARGEST_IMAGE};
use clap::ValueEnum;

/// What a sheet becomes.
#[derive(Clone, Copy, Debug, Eq, PartialEq, ValueEnum)]
pub enum Format {
    /// The image: the bytes that an ignition keeps.
    Image,
    /// The image for an EEPROM programmer, at its place in the ignition's store.
    IntelHex,
    /// Constants for firmware that links the crate `bobweight`.
    Rust,
    /// Constants for firmware in C99 or C++11.
    C,
    /// A table of the total advance over speeds and vacuums.
    Csv,
}

impl Format {
    /// Whether these bytes are an export of this form.
    pub fn is(self, bytes: &[u8]) -> bool {
        let text = String::from_utf8_lossy(bytes);
        match self {
            Self::Image => bytes.starts_with(IMAGE_MAGIC),
            Self::IntelHex => {
                text.lines().next().is_some_and(|line| line.starts_with(':') && line.contains(IMAGE_MAGIC_IN_HEX))
            }
            Self::Rust => text.contains(WRITTEN_BY) && text.contains("pub const ENGINE: EngineSettings"),
            Self::C => text.contains(WRITTEN_BY) && text.contains("#ifndef BOBWEIGHT_ENGINE_H"),
            Self::Csv => text.starts_with("# Engine: ") && text.contains(WRITTEN_BY),
        }
    }
}

/// What an image begins with.
const IMAGE_MAGIC: &[u8] = b"BOBW";
const IMAGE_MAGIC_IN_HEX: &str = "424F4257";
/// What the head of every text holds.
const WRITTEN_BY: &str = "Written by bobweight ";

/// A sheet that can be exported.
#[derive(Debug)]
pub struct Export {
    sheet: Sheet,
    settings: Settings,
    engine: EngineSettings,
}

impl Export {
    /// Takes a sheet.
    ///
    /// # Errors
    /// A key that is missing, and a value that the core refuses.
    pub fn new(sheet: Sheet) -> Result<Self, SheetError> {
        let settings = Settings::from_sheet(&sheet)?;
        let engine = sheet::engine_settings(&sheet, &settings)?;
        sheet.name.get()?;
        Ok(Self { sheet, settings, engine })
    }

    /// The sheet.
    pub fn sheet(&self) -> &Sheet {
        &self.sheet
    }

    /// Its settings in the core's types.
    pub fn settings(&self) -> &Settings {
        &self.settings
    }

    /// What an ignition keeps of it.
    pub fn engine(&self) -> &EngineSettings {
        &self.engine
    }

    /// A sentence for each limit that the curve breaks: a curve with any is not handed out.
    pub fn broken_limits(&self) -> Vec<String> {
        broken_limits_in_words(&self.sheet, &self.settings.model)
    }

    /// The image.
    ///
    /// # Errors
    /// None that a checked sheet could give; [`ImageError::Room`] is passed on and not hidden.
    pub fn image(&self) -> Result<Vec<u8>, ImageError> {
        let mut image = vec![0; LARGEST_IMAGE];
        let length = self.engine.encode(&mut image)?;
        image.truncate(length);
        Ok(image)
    }

    /// The image at its place in the store, as Intel HEX.
    ///
    /// # Errors
    /// As of [`Export::image`].
    pub fn intel_hex(&self) -> Result<String, ImageError> {
        Ok(hex::text(&self.image()?))
    }

    /// Rust text.
    pub fn rust(&self) -> String {
        rust::text(self)
    }

    /// A header of C.
    ///
    /// # Errors
    /// A pickup whose rules firmware of another language would have to know: a reluctor, and points that bounce. A header cannot tell whether it
    /// does.
    pub fn c(&self) -> Result<String, SheetError> {
        let (pickup, told) = (self.engine.pickup.settings(), &self.sheet.pickup);
        let refuse = |key: &sheet::Place, what: &str| {
            key.refuse(
                "is not carried by the form `c`",
                what,
                "hand it out as `image`, `intel-hex` or `rust`: the crate `bobweight` has the rules of this pickup",
            )
        };
        if pickup.moving_flank.is_some() {
            let what = "times each spark from the crossing before it, and cranks by its own";
            return Err(refuse(told.moving_flank_crank_degrees.place(), what));
        }
        if pickup.bounce.bits() > 0 {
            return Err(refuse(told.bounce_s.place(), "would be taken for flanks, and spark far too early"));
        }
        Ok(c::text(self))
    }

    fn origin(&self) -> Vec<String> {
        origin(&self.sheet)
    }
}

/// The lines that say at the head of a text which sheet it is from, and what of that is only assumed.
fn origin(sheet: &Sheet) -> Vec<String> {
    let name = sheet.name.value().map_or("", String::as_str);
    let mut lines = vec![
        format!("Engine: {}", printable(name)),
        format!("Sheet: {}", printable(sheet.file())),
        crate::files::digest::digest(sheet.text().as_bytes()),
    ];
    if !sheet.assumptions().is_empty() {
        lines.push(format!("Assumed, and known to nobody so far: {}", printable(&sheet.assumptions().join(", "))));
    }
    lines.push(format!("{WRITTEN_BY}{}: change the sheet, and export again.", env!("CARGO_PKG_VERSION")));
    lines
}

/// What may stand in a comment of any language: a name must not end the comment that it stands in, nor its line.
fn printable(text: &str) -> String {
    let kept = |letter: char| {
        if letter == '\n' || letter == '\t' || is_obeyed(letter) || "\\?".contains(letter) { '_' } else { letter }
    };
    text.chars().map(kept).collect::<String>().replace("*/", "* /").replace("/*", "/ *")
}
