//! What a bench result leaves to do.

use crate::record::bench::BenchResult;
use crate::record::verdict::Verdict;

impl BenchResult {
    /// What to do next, in one sentence.
    pub fn next_step(&self) -> String {
        let sheet = &self.sheet.file;
        let what_to_mend = if self.limits.kept {
            match (&self.broken_off, self.verdict) {
                (Some(_), _) => "mend what broke the run off".to_owned(),
                (None, Verdict::Undecided) => "look for what scatters, and at what is not proven".to_owned(),
                (None, _) => "mend what is named above".to_owned(),
            }
        } else {
            format!("change the curve or the limits until `bobweight check {sheet}` keeps them all")
        };
        let not_judged = match &self.settings.coil {
            Some(coil) if coil.least_energy_mj.is_none() => {
                format!(
                    "; and write `least_energy` under `[coil]` of {sheet}, so that the energy of the sparks is judged too"
                )
            }
            _ => String::new(),
        };
        match (self.verdict, self.is_simulated()) {
            (Verdict::Pass, true) if !self.assumptions.is_empty() => format!(
                "find out what is assumed: `bobweight begin` in the folder of {sheet} asks for one after the other. An ignition is given no assumption \
                 of pickup, coil or sensor{not_judged}"
            ),
            (Verdict::Pass, true) => format!(
                "put the curve into the box with `bobweight write` or `bobweight export`, then bench the box itself: \
                 `bobweight bench {sheet} --serial PATH`, or `--trace FILE` of a logic analyser{not_judged}"
            ),
            (Verdict::Pass, false) => format!(
                "set the ignition on the engine as `bobweight figures {sheet} --first-start` says, and prove the curve there with \
                 `bobweight light {sheet}`{not_judged}"
            ),
            (_, true) => format!("bring this curve to no engine: {what_to_mend}, and bench it again"),
            (_, false) => format!("keep this box away from the engine: {what_to_mend}, and bench it again"),
        }
    }
}
