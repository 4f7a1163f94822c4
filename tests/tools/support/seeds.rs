//! Counts over consecutive seeds, and the shares that are asked of them.
//!
//! The seeds begin at 20 000; `BOBWEIGHT_SEED` sets another beginning. `BOBWEIGHT_LONG=1` takes all of them. Without it the
//! first fifth is taken and the same share asked, less two binomial standard errors.

/// First seed of every count.
pub const BASE: u64 = 20_000;

/// Whether the whole count is asked for.
#[must_use]
pub fn is_long() -> bool {
    std::env::var("BOBWEIGHT_LONG").is_ok_and(|value| value == "1")
}

/// So many consecutive seeds.
#[derive(Clone, Copy, Debug)]
pub struct Seeds {
    first: u64,
    count: u32,
}

impl Seeds {
    /// The first fifth of `full` seeds, or all of them in a long run.
    #[must_use]
    pub fn of(full: u32) -> Self {
        let first = match std::env::var("BOBWEIGHT_SEED") {
            Ok(text) => text.parse().expect("BOBWEIGHT_SEED is a whole number"),
            Err(_) => BASE,
        };
        Self { first, count: if is_long() { full } else { full / 5 } }
    }

    /// Each seed.
    pub fn iter(&self) -> impl Iterator<Item = u64> + use<> {
        self.first..self.first + u64::from(self.count)
    }

    /// Asks that at least this share of the seeds was reached.
    #[track_caller]
    pub fn at_least(&self, what: &str, reached: u32, share: f64) {
        Tally { held: reached, of: self.count }.at_least(what, share);
    }

    /// Asks that at most this share of the seeds was reached.
    #[track_caller]
    pub fn at_most(&self, what: &str, reached: u32, share: f64) {
        Tally { held: reached, of: self.count }.at_most(what, share);
    }
}

/// How often something held.
#[derive(Clone, Copy, Debug, Default)]
pub struct Tally {
    /// So often it held.
    pub held: u32,
    /// So often it was asked.
    pub of: u32,
}

impl Tally {
    /// Counts once more.
    pub fn count(&mut self, holds: bool) {
        self.held += u32::from(holds);
        self.of += 1;
    }

    /// The share that held.
    #[must_use]
    pub fn share(self) -> f64 {
        f64::from(self.held) / f64::from(self.of)
    }

    /// Asks that at least this share held.
    #[track_caller]
    pub fn at_least(self, what: &str, share: f64) {
        let need = share * f64::from(self.of) - self.slack(share);
        println!("{what}: {} of {}, at least {need:.1}", self.held, self.of);
        assert!(self.is_at_least(share), "{what}: {} of {}, at least {need:.1}", self.held, self.of);
    }

    /// Whether at least this share held, to within what chance does to so many.
    #[must_use]
    pub fn is_at_least(self, share: f64) -> bool {
        f64::from(self.held) >= share * f64::from(self.of) - self.slack(share)
    }

    /// Asks that at most this share held.
    #[track_caller]
    pub fn at_most(self, what: &str, share: f64) {
        let most = share * f64::from(self.of) + self.slack(share);
        println!("{what}: {} of {}, at most {most:.1}", self.held, self.of);
        assert!(f64::from(self.held) <= most, "{what}: {} of {}, at most {most:.1}", self.held, self.of);
    }

    /// Two binomial standard errors of a count, none in a long run.
    fn slack(self, share: f64) -> f64 {
        if is_long() { 0.0 } else { 2.0 * (share * (1.0 - share) * f64::from(self.of)).sqrt() }
    }
}

impl std::ops::Add for Tally {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self { held: self.held + other.held, of: self.of + other.of }
    }
}
