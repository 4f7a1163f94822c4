//! The result of writing or reading an ignition, for people.

use crate::record::ignition::{Curve, IgnitionResult};
use crate::words::wrap::paragraph;

impl IgnitionResult {
    /// What was written, for people.
    pub fn written_in_words(&self) -> String {
        let none = "no curve that can be read".to_owned();
        let said = |curve: &Option<Curve>| curve.as_ref().map_or(none.clone(), |curve| curve.statement.clone());
        let same = self.before == self.now;
        let mut text = String::new();
        paragraph(&mut text, "", &self.place);
        paragraph(&mut text, "before  ", &said(&self.before));
        paragraph(&mut text, "now     ", &said(&self.now));
        if same {
            paragraph(&mut text, "", "it is the same curve, written again");
        }
        let written = "written and read back. The ignition works by it from the next key-on: switch it off and on, and bench it before \
                       it goes near the engine";
        paragraph(&mut text, "", written);
        text
    }

    /// What was read, for people: the tables alone where nothing is compared, so that they can be kept as they come.
    pub fn read_in_words(&self) -> String {
        let Some(curve) = &self.now else {
            return format!("{} holds no curve: write one with `bobweight write`\n", self.place);
        };
        let file = self.sheet.as_ref().map_or("", |sheet| sheet.file.as_str());
        match self.differs_in.as_deref() {
            None => format!("# {}\n{}", curve.statement, curve.tables),
            Some([]) => format!("{} holds the curve of {file}: {}\n", self.place, curve.statement),
            Some(tables) => format!(
                "{} does not hold the curve of {file}: it differs in {}\nit holds  {}\n",
                self.place,
                tables.join(", "),
                curve.statement
            ),
        }
    }
}
