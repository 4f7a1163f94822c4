//! Somebody at a terminal with `bobweight survey` on it.

use std::os::unix::process::ExitStatusExt;
use std::path::PathBuf;

use super::sitting::{Interruption, Sitting};
use super::truth::Truth;

/// A whole survey, in as many sittings as it is interrupted.
pub struct Surveyor {
    /// What is measured.
    pub truth: Truth,
    /// The readings.
    pub out: PathBuf,
    /// What was said in the last sitting.
    pub said: String,
    /// Right answers so far.
    pub answers: usize,
    /// Wrong answers so far, each asked again.
    pub wrong: usize,
    true_crank_rpm: f64,
    kpa: f64,
}

impl Surveyor {
    /// One who will write to `out`.
    pub fn new(truth: Truth, out: PathBuf) -> Self {
        Self { truth, out, said: String::new(), answers: 0, wrong: 0, true_crank_rpm: 0.0, kpa: 0.0 }
    }

    /// Answers until nothing is asked any more; is interrupted at the question that follows each of these counts of answers.
    pub fn survey(&mut self, interruptions: &[(usize, Interruption)]) {
        let mut asked: Option<String> = None;
        for &(after, how) in interruptions {
            asked = self.sitting(asked.as_deref(), Some((after, how)));
        }
        self.sitting(asked.as_deref(), None);
    }

    /// One sitting. `asked` is what an interrupted one asked last; gives back what this one did.
    fn sitting(&mut self, asked: Option<&str>, interruption: Option<(usize, Interruption)>) -> Option<String> {
        let kept = self.kept();
        let mut sitting = Sitting::begin(
            &["survey".as_ref(), "--out".as_ref(), self.out.as_os_str()],
            interruption.map(|(_, how)| how),
        );
        let mut first = true;
        while let Some(question) = sitting.question() {
            if question.starts_with("Type yes") {
                sitting.answer("yes");
                continue;
            }
            if first && let Some(asked) = asked {
                // Nothing is lost, nothing is asked twice, and what to do for it is said again.
                assert_eq!(question, asked, "{}", sitting.said);
                assert_eq!(self.kept(), kept, "{}", sitting.said);
                let about = question.starts_with("timing") || question.starts_with("depression");
                assert!(!about || sitting.said.contains(" about "), "{}", sitting.said);
            }
            first = false;
            if let Some((after, how)) = interruption
                && self.answers == after
            {
                let before = self.kept();
                sitting.interrupt(how);
                assert_eq!(self.kept(), before, "{how:?} after {after} answers:\n{}", sitting.said);
                let status = sitting.end();
                let expected = match how {
                    Interruption::Stop | Interruption::CtrlC => (Some(130), None),
                    Interruption::Killed => (None, Some(9)),
                };
                assert_eq!((status.code(), status.signal()), expected, "{}", sitting.said);
                return Some(question);
            }
            self.wrong_answers(&mut sitting, &question);
            let answer = self.right_answer(&question, &sitting.said);
            sitting.answer(&answer);
            self.answers += 1;
        }
        self.said.clone_from(&sitting.said);
        assert!(interruption.is_none(), "it ended before {interruption:?}:\n{}", sitting.said);
        assert_eq!(sitting.end().code(), Some(0), "{}", sitting.said);
        None
    }

    fn kept(&self) -> Option<String> {
        std::fs::read_to_string(&self.out).ok()
    }

    /// Before some right answers: each wrong one is asked again and changes nothing.
    fn wrong_answers(&mut self, sitting: &mut Sitting, question: &str) {
        let wrong: &[&str] = match question {
            _ if question.starts_with("which speed") => &["fast", "", "20", "30000", "700 rpm"],
            _ if question.starts_with("does it shake") => &["", "perhaps"],
            _ if question.contains("BTDC") => &["left", "", "120 BTDC"],
            _ if question.starts_with("how far does it dance") => &["a bit", "", "50"],
            _ if question.starts_with("by how many per cent") => &["hardly", "", "40", "2 rpm"],
            _ if question.starts_with("is it off") => &["no"],
            _ if question.starts_with("vacuum, ") => &["much", ""],
            _ if !self.answers.is_multiple_of(7) => return,
            _ if question.starts_with("speed") => &["about two thousand", "", "25000", "5", "1800 rpm", "1800,5"],
            _ if question.starts_with("depression") => &["hard", "", "300", "17 inches"],
            _ if question.starts_with("timing") => &["eight or so", "", "140", "12 degrees"],
            _ => return,
        };
        let before = self.kept();
        for text in wrong {
            sitting.answer(text);
            let again = sitting.question();
            assert_eq!(again.as_deref(), Some(question), "{text}:\n{}", sitting.said);
            assert_eq!(self.kept(), before, "{text}:\n{}", sitting.said);
            self.wrong += 1;
        }
    }

    fn right_answer(&mut self, question: &str, said: &str) -> String {
        let turn = self.answers;
        if question.starts_with("speed") {
            let [true_speed, shown] = self.truth.speed(asked_for(said, " crank rpm"));
            self.true_crank_rpm = true_speed;
            self.kpa = 0.0;
            return if turn.is_multiple_of(3) {
                format!("{} distributor rpm", shown / 2.0)
            } else {
                format!("{shown}")
            };
        }
        if question.starts_with("depression") {
            let kpa = asked_for(said, " kPa");
            self.kpa = kpa;
            // NIST SP 811: 1 inHg is 3.386389 kPa.
            return match turn % 3 {
                0 => format!("{:.2} inHg depression", kpa / 3.386_389),
                1 => format!("{kpa} kPa depression"),
                _ => format!("{kpa}"),
            };
        }
        if question.starts_with("timing") {
            let shown = self.truth.timing(self.true_crank_rpm, self.kpa);
            return if turn.is_multiple_of(4) {
                format!("{} distributor degrees", shown / 2.0)
            } else {
                format!("{shown}")
            };
        }
        match question {
            _ if question.starts_with("numbers") => "31 B <stamped>".to_owned(),
            _ if question.starts_with("does it shake") => "a little".to_owned(),
            // Stopped 35 crank degrees to either side of true top dead centre.
            _ if question.contains("BTDC") => format!("{} BTDC", 35.0 + self.truth.mark),
            _ if question.contains("ATDC") => format!("{} ATDC", 35.0 - self.truth.mark),
            _ if question.starts_with("how far does it dance") => {
                format!("{:.1} crank degrees", self.truth.reader.mark_dances())
            }
            _ if question.starts_with("by how many per cent") => format!("{:.1}", self.truth.reader.speed_wanders()),
            _ if question.starts_with("which speed") && said.contains("The highest speed") => {
                "4000 crank rpm".to_owned()
            }
            _ if question.starts_with("which speed") => "350 distributor rpm".to_owned(),
            _ if question.starts_with("vacuum") => "17.5".to_owned(),
            _ => "yes".to_owned(),
        }
    }
}

/// The figure before this unit where something was asked for last.
fn asked_for(said: &str, unit: &str) -> f64 {
    // Sentences wrap, and numbers stand in groups.
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    let figure = |part: &str| part.split_once(unit).and_then(|(number, _)| number.replace(' ', "").parse().ok());
    said.rsplit("about ").find_map(figure).unwrap_or_else(|| panic!("{said}"))
}
