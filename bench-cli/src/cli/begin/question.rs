//! Asks for one value of the sheet after the other, and writes each answer into it at once.

use crate::cli::failure::Failure;
use crate::cli::terminal::Terminal;
use crate::proof::begin::{BEGINS, PULLS, Stage, answered, assumed, before, doubt, open, presumed, wanted};
use crate::sheet::{self, Changed, Form, Guide, Presumed, Sheet, question_of, stands};
use crate::words::wrap::folded;
use std::path::Path;

/// How questions ended.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub(super) enum Asked {
    /// All that were due are answered.
    Done,
    /// Somebody went back to an earlier one, which is answered.
    WentBack,
    /// The input ended, or `stop`.
    Stopped,
}

/// How one question ended.
enum One {
    Answered,
    Left,
    Back,
    Stopped,
}

/// The questions of a sitting.
pub(super) struct Questions<'a> {
    path: &'a Path,
    /// What a bench asks for is asked one by one, and not assumed at once.
    pub(super) one_by_one: bool,
    /// Whether this sitting assumed something itself: then it does not ask for it at once.
    assumed_here: bool,
}

impl<'a> Questions<'a> {
    pub(super) fn of(path: &'a Path) -> Self {
        Self { path, one_by_one: false, assumed_here: false }
    }

    /// Asks until nothing is open up to the end of a stage.
    pub(super) fn stage(&mut self, stage: Stage, terminal: &mut Terminal) -> Result<Asked, Failure> {
        let mut went_back = false;
        loop {
            let sheet = sheet::read(self.path)?;
            let Some(guide) = wanted(&sheet, stage) else {
                return Ok(if went_back { Asked::WentBack } else { Asked::Done });
            };
            match self.one(&sheet, guide, open(&sheet, stage), terminal)? {
                One::Answered => {}
                // A pickup without a second flank: what follows is asked all the same.
                One::Left => {
                    if let Some(first_flank) = sheet::guide("pickup.angle")
                        && matches!(self.one(&sheet, first_flank, open(&sheet, stage) - 1, terminal)?, One::Stopped)
                    {
                        return Ok(Asked::Stopped);
                    }
                }
                One::Back => match self.back(Some(guide.key), terminal)? {
                    Asked::Stopped => return Ok(Asked::Stopped),
                    Asked::WentBack => went_back = true,
                    Asked::Done => {}
                },
                One::Stopped => return Ok(Asked::Stopped),
            }
        }
    }

    /// Asks for everything that is assumed, once.
    pub(super) fn assumptions(&mut self, terminal: &mut Terminal) -> Result<Asked, Failure> {
        let mut last = None;
        loop {
            let sheet = sheet::read(self.path)?;
            let due = assumed(&sheet);
            let next = match last {
                None => due.first(),
                Some(key) => due.iter().find(|guide| place(guide.key) > place(key)),
            };
            let Some(guide) = next else { return Ok(Asked::Done) };
            let left = due.iter().filter(|other| place(other.key) >= place(guide.key)).count();
            match self.one(&sheet, guide, left, terminal)? {
                One::Answered | One::Left => last = Some(guide.key),
                One::Back => match self.back(Some(guide.key), terminal)? {
                    Asked::Stopped => return Ok(Asked::Stopped),
                    Asked::WentBack | Asked::Done => {}
                },
                One::Stopped => return Ok(Asked::Stopped),
            }
        }
    }

    /// Whether what is assumed is due now: an earlier sitting left it.
    pub(super) fn are_assumptions_due(&self) -> bool {
        !self.assumed_here
    }

    /// This sitting assumed something: it shows first what comes of it.
    pub(super) fn assumes(&mut self) {
        self.assumed_here = true;
    }

    /// Asks for the answer before a question again, and for those before it as long as somebody wants.
    pub(super) fn back(&mut self, key: Option<&str>, terminal: &mut Terminal) -> Result<Asked, Failure> {
        let mut key = key.map(str::to_owned);
        loop {
            let sheet = sheet::read(self.path)?;
            let Some(guide) = before(&sheet, key.as_deref()) else {
                terminal.say("  ", "this is the first question")?;
                return Ok(Asked::Done);
            };
            match self.one(&sheet, guide, 0, terminal)? {
                One::Answered => return Ok(Asked::WentBack),
                One::Left => return Ok(Asked::Done),
                One::Back => key = Some(guide.key.to_owned()),
                One::Stopped => return Ok(Asked::Stopped),
            }
        }
    }

    /// One question, until it is answered, left or somebody goes back or away.
    fn one(&mut self, sheet: &Sheet, guide: &Guide, left: usize, terminal: &mut Terminal) -> Result<One, Failure> {
        let now = stands(sheet.text(), guide.key);
        let is_assumed = sheet.assumptions().iter().any(|key| key == guide.key);
        tell(guide, now.as_deref(), is_assumed, left, terminal)?;
        let mut doubted = None;
        loop {
            write!(terminal.err, "{} ", folded(&format!("  {}", prompt(guide))))?;
            terminal.err.flush()?;
            let Some(typed) = terminal.line()? else { return Ok(One::Stopped) };
            let typed = typed.trim();
            match typed.to_lowercase().replace(['\u{2019}', '`'], "'").as_str() {
                "stop" => return Ok(One::Stopped),
                "back" => return Ok(One::Back),
                "?" | "help" => more(guide, terminal)?,
                "" if now.is_some() => return Ok(One::Left),
                "don't know" | "dont know" if is_assumed => return Ok(One::Left),
                "don't know" | "dont know" => match presumed(sheet.file(), sheet.text(), guide) {
                    Ok((changed, because)) => {
                        self.keep(sheet, &changed)?;
                        self.assumes();
                        terminal.say("  ", &format!("assumed, and marked so: {}; {because}", said(&changed)))?;
                        return Ok(One::Answered);
                    }
                    Err(why) => terminal.say("  ", &why)?,
                },
                _ => match answered(sheet.file(), sheet.text(), guide, typed) {
                    Err(wrong) => {
                        terminal.say("  ", &wrong)?;
                        if let Some(asked_back) = doubt(guide, typed) {
                            terminal.say("  ", &asked_back)?;
                        }
                    }
                    Ok(changed) => {
                        if doubted.as_deref() != Some(typed)
                            && let Some(asked_back) = doubt(guide, typed)
                        {
                            terminal.say("  ", &asked_back)?;
                            doubted = Some(typed.to_owned());
                            continue;
                        }
                        if guide.key == "pickup.second_flank_angle" && typed == "none" {
                            self.keep(sheet, &changed)?;
                            return Ok(One::Left);
                        }
                        self.keep(sheet, &changed)?;
                        terminal.say("  ", &format!("kept: {}", said(&changed)))?;
                        if let Some(open) = still_assumed(guide, &changed) {
                            terminal.say("  ", open)?;
                        }
                        return Ok(One::Answered);
                    }
                },
            }
        }
    }

    fn keep(&self, sheet: &Sheet, changed: &Changed) -> Result<(), Failure> {
        if changed.text != sheet.text() {
            sheet::replace(self.path, sheet.text(), &changed.text)?;
        }
        Ok(())
    }
}

fn place(key: &str) -> usize {
    sheet::GUIDES.iter().position(|guide| guide.key == key).unwrap_or(usize::MAX)
}

/// The question with its reason, how to know it, and what is usual.
fn tell(
    guide: &Guide,
    now: Option<&str>,
    is_assumed: bool,
    left: usize,
    terminal: &mut Terminal,
) -> Result<(), Failure> {
    writeln!(terminal.err)?;
    let count = if left > 1 { format!(" ({left} open)") } else { String::new() };
    // What follows the question in a sheet is for whoever writes it there.
    let asked = question_of(guide.key);
    let asked = asked.find('?').map_or(asked.as_str(), |end| &asked[..=end]);
    terminal.say("", &format!("{asked}{count}"))?;
    terminal.say("  why: ", guide.why)?;
    terminal.say("  how: ", guide.how)?;
    if !guide.usual.is_empty() {
        terminal.say("  usual: ", guide.usual)?;
    }
    if let Some(now) = now {
        let how = if is_assumed { "assumed so far" } else { "it is" };
        let now = now.split_whitespace().collect::<Vec<_>>().join(" ");
        terminal.say("  ", &format!("{how}: {now}; an empty line keeps it"))?;
    }
    Ok(())
}

/// What `?` tells.
fn more(guide: &Guide, terminal: &mut Terminal) -> Result<(), Failure> {
    let form = sheet::form_of(guide.key);
    terminal.say("  ", &format!("in the sheet it is `{}`: {form}", guide.key))?;
    match guide.presumed {
        Presumed::Nothing(why) => terminal.say("  ", &format!("`don't know` will not do: {why}"))?,
        Presumed::Value(value, because) => {
            terminal.say("  ", &format!("`don't know` assumes {value}: {because}"))?;
        }
        Presumed::Reckoned(_, because) => terminal.say("  ", &format!("`don't know` assumes a value: {because}"))?,
    }
    Ok(())
}

/// What is to be typed.
fn prompt(guide: &Guide) -> String {
    match guide.form {
        Form::Quantity(unit) => format!("{unit}:"),
        Form::Whole => "how many:".to_owned(),
        Form::Text => "your answer:".to_owned(),
        Form::DwellTable => "ms at V:".to_owned(),
        Form::Centrifugal | Form::Vacuum => "degrees with their unit, and where:".to_owned(),
    }
}

/// What was written, but for the list of assumptions.
fn said(changed: &Changed) -> String {
    let told: Vec<String> = changed
        .changes
        .iter()
        .filter(|change| change.key != "assumed" && !change.key.starts_with("specified"))
        .filter_map(|change| Some(format!("{} = {}", change.key, change.after.as_ref()?)))
        .collect();
    if told.is_empty() { "as it was".to_owned() } else { told.join(", ") }
}

/// What a curve of which only a part was said leaves open.
fn still_assumed(guide: &Guide, changed: &Changed) -> Option<&'static str> {
    let listed = stands(&changed.text, "assumed").is_some_and(|list| list.contains(guide.key));
    match guide.form {
        Form::Centrifugal if listed => Some(BEGINS),
        Form::Vacuum if listed => Some(PULLS),
        _ => None,
    }
}
