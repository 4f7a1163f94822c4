//! What to change in a sheet whose sparks cannot be timed.
//!
//! The core's refusal names one spark and what that spark lacks; with the pickup turned to suit it, another spark may lack
//! something. So every remedy here is tried: the core has made the whole timetable with it before anybody is told of it.

use crate::quantity::of_core::angle_degrees;
use crate::words::number::short;
use bobweight::quantity::{CrankAngle, CrankSpeed, Duration};
use bobweight::{
    AdvanceModel, AdvanceSettings, Dwell, DwellSettings, Firmware, PhaseSpeeds, Pickup, PickupSettings, Timetable,
};

/// Pickup angles are tried, and told, in steps of half a crank degree: nobody sets one finer.
const ANGLE_STEP: i32 = CrankAngle::STEP.cast_signed() / 2;
/// Beyond one pulse and the greatest advance that there can be, no flank is of use: crank degrees.
const GREATEST_ADVANCE: i32 = 90;
/// Speeds go down in steps of so many crank rpm.
const SPEED_STEP: u32 = 50;
/// Speeds that have to follow stay so much below, crank rpm.
const BELOW: u32 = 100;
/// Burn times go down in steps of so many microseconds.
const BURN_STEP: u32 = 100;

/// What a timetable is made of.
#[derive(Clone, Copy)]
pub(super) struct Parts<'a> {
    pub model: &'a AdvanceModel,
    pub pickup: &'a Pickup,
    pub dwell: &'a Dwell,
    pub firmware: &'a Firmware,
    /// The engine's own speeds: idle, and the greatest.
    pub engine_speeds: [CrankSpeed; 2],
    /// Whether the pickup is a coil, which gives no second flank at an angle of its own.
    pub is_coil: bool,
}

/// What to write into the sheet; nothing where neither the pickup's angle, a second flank, the highest speed nor the burn time
/// can help.
pub(super) fn remedy(parts: &Parts<'_>) -> Option<String> {
    let turn = match parts.pickup.settings().second_flank_angle {
        // Turned, a vane would take its second flank with it.
        Some(_) => "use a vane whose first flank comes there while its second stays",
        None => "turn the pickup",
    };
    if let Some(angles) = parts.angles() {
        return Some(format!("{turn}, and write {}", angles.words()));
    }
    if let Some(held) = parts.with_held_as_initial()
        && let Some(angles) = (Parts { model: &held, ..*parts }).angles()
    {
        let initial = short(angle_degrees(held.settings().initial.angle()), 3);
        return Some(format!(
            "no angle will do for the held advance: write `held = \"{initial} crank degrees\"`, as `initial` is, and {}",
            angles.words()
        ));
    }
    let flank = parts.with_second_flank();
    let with_flank = flank.as_ref().map(|pickup| Parts { pickup, ..*parts });
    let written = format!(
        "{}`second_flank_angle = \"{} crank degrees BTDC\"`",
        if parts.is_coil { "`kind = \"vane\"`, " } else { "" },
        short(angle_degrees(parts.model.settings().cranking.angle()), 3)
    );
    if let Some(angles) = with_flank.and_then(|with| with.angles()) {
        return Some(format!(
            "no angle will do for cranking and running both: use a vane with a second flank for cranking, and write {written} and {}",
            angles.words()
        ));
    }
    // Nobody wants an engine that goes half as fast, as long as anything else will do.
    let of = |share: u32| parts.model.settings().speeds.no_spark_above.bits() / CrankSpeed::STEP * share / 4;
    for least in [of(3), 0] {
        if let Some(change) = parts.slower_or_shorter("", least) {
            return Some(format!("no angle alone will do: {change}"));
        }
        if let Some(change) = with_flank.and_then(|with| with.slower_or_shorter(&format!("{written}, "), least)) {
            return Some(format!("a second flank is needed, and one thing more: {change}"));
        }
    }
    None
}

/// What to write where a spark of the running engine would come after a reluctor's zero crossing.
pub(super) fn static_advance(parts: &Parts<'_>) -> String {
    let [.., least] = parts.model.judge().0;
    let least = angle_degrees(least.worst.sum);
    let settings = parts.pickup.settings();
    let now = angle_degrees(settings.angle);
    let other = settings.moving_flank.filter(|_| least >= 0.0).map_or_else(String::new, |moving| {
        let [earliest, latest] =
            [moving.earliest, moving.latest].map(|flank| short(angle_degrees(flank) - now + least, 3));
        let least = short(least, 3);
        format!(
            "turn the pickup until its crossing lies there, and write `angle = \"{least} crank degrees BTDC\"`, `cranking = \"{least} crank \
             degrees\"` and `moving_flank = [\"{earliest} crank degrees BTDC\", \"{latest} crank degrees BTDC\"]`; or "
        )
    });
    format!(
        "the crossing is the static advance, and it must be the least advance there is, held and without vacuum too, which is {}: {other}choose \
         `initial`, `held` and curves that never lie below {}",
        short(least, 3),
        short(now, 3)
    )
}

/// The half crank degrees that will do.
struct Angles {
    nearest: CrankAngle,
    first: CrankAngle,
    last: CrankAngle,
}

impl Angles {
    fn words(&self) -> String {
        let [nearest, first, last] = [self.nearest, self.first, self.last].map(angle_degrees);
        let whole = if first < last { format!(" ({first} to {last} will do)") } else { String::new() };
        format!("`angle = \"{nearest} crank degrees BTDC\"`{whole}")
    }
}

impl Parts<'_> {
    fn can_be_timed(&self) -> bool {
        Timetable::new(self.model, self.pickup, self.dwell, self.firmware).is_ok()
    }

    /// The pickup's angles that will do, about the one that is nearest to its own.
    fn angles(&self) -> Option<Angles> {
        let settings = *self.pickup.settings();
        let pulse = 720 / i32::from(settings.pulses_in_two_turns);
        let will_do = |&angle: &i32| {
            let angle = CrankAngle::saturating_from_bits(angle);
            let pickup = Pickup::new(PickupSettings { angle, ..settings });
            pickup.is_ok_and(|pickup| Parts { pickup: &pickup, ..*self }.can_be_timed())
        };
        // A reluctor's crossing is its cranking advance, and turned it takes its other flank with it: no angle but its own is tried.
        let steps = if settings.moving_flank.is_some() { 0..=0 } else { 0..=2 * (pulse + GREATEST_ADVANCE) };
        let first = if settings.moving_flank.is_some() { settings.angle.bits() } else { 0 };
        let all: Vec<i32> = steps.map(|step| first + step * ANGLE_STEP).filter(will_do).collect();
        let nearest = *all.iter().min_by_key(|angle| angle.abs_diff(settings.angle.bits()))?;
        let end = |step: i32| {
            let mut end = nearest;
            while all.contains(&(end + step)) {
                end += step;
            }
            CrankAngle::saturating_from_bits(end)
        };
        Some(Angles {
            nearest: CrankAngle::saturating_from_bits(nearest),
            first: end(-ANGLE_STEP),
            last: end(ANGLE_STEP),
        })
    }

    /// The same model with the initial timing held, where it holds another advance.
    fn with_held_as_initial(&self) -> Option<AdvanceModel> {
        let settings = *self.model.settings();
        let held = settings.initial;
        if settings.held == held { None } else { AdvanceModel::new(AdvanceSettings { held, ..settings }).ok() }
    }

    /// The same pickup with a second flank at the cranking advance, where it has none.
    fn with_second_flank(&self) -> Option<Pickup> {
        let settings = *self.pickup.settings();
        if settings.second_flank_angle.is_some() || settings.moving_flank.is_some() {
            return None;
        }
        let second = self.model.settings().cranking.angle();
        // Where the flank stands it may be none; `angles` looks for a better place anyway.
        let half_a_pulse = 360 * CrankAngle::STEP.cast_signed() / i32::from(settings.pulses_in_two_turns);
        let before = CrankAngle::saturating_from_bits(second.bits() + half_a_pulse);
        let with = |angle| Pickup::new(PickupSettings { second_flank_angle: Some(second), angle, ..settings });
        with(settings.angle).or_else(|_| with(before)).ok()
    }

    /// A lower highest speed or a shorter burn time, with the angle that will do then. `besides` is written too.
    fn slower_or_shorter(&self, besides: &str, least_rpm: u32) -> Option<String> {
        match (self.slower(besides, least_rpm), self.shorter_burn(besides)) {
            (Some(slower), Some(shorter)) => Some(format!("{slower}; or, {shorter}")),
            (one, other) => one.or(other),
        }
    }

    fn slower(&self, besides: &str, least_rpm: u32) -> Option<String> {
        let settings = *self.model.settings();
        let of = |rpm: u32| CrankSpeed::saturating_from_bits(rpm * CrankSpeed::STEP);
        let now = settings.speeds.no_spark_above.bits() / CrankSpeed::STEP;
        let [idle, greatest] = self.engine_speeds;
        let runs = |rpm: &u32| *rpm >= least_rpm && of(rpm.saturating_sub(BELOW)) > idle;
        let lower = |rpm: u32| {
            let follows = |at: CrankSpeed| at >= of(rpm);
            let again = follows(settings.speeds.spark_again_below);
            let speeds = PhaseSpeeds {
                no_spark_above: of(rpm),
                spark_again_below: if again {
                    of(rpm.saturating_sub(BELOW))
                } else {
                    settings.speeds.spark_again_below
                },
                ..settings.speeds
            };
            let model = AdvanceModel::new(AdvanceSettings { speeds, ..settings }).ok()?;
            let angles = Parts { model: &model, ..*self }.angles()?;
            let written = [("no_spark_above", rpm, true), ("spark_again_below", rpm.saturating_sub(BELOW), again)];
            let greatest = ("greatest_speed", rpm.saturating_sub(BELOW), follows(greatest));
            let written = written.into_iter().chain([greatest]).filter(|(.., changed)| *changed);
            let written: Vec<String> = written.map(|(key, rpm, _)| format!("`{key} = \"{rpm} crank rpm\"`")).collect();
            Some(format!("write {besides}{} and {}", written.join(", "), angles.words()))
        };
        (0..now.div_ceil(SPEED_STEP)).rev().map(|step| step * SPEED_STEP).take_while(runs).find_map(lower)
    }

    fn shorter_burn(&self, besides: &str) -> Option<String> {
        let settings = *self.dwell.settings();
        let now = settings.burn_time.bits() / 1000;
        let shorter = |micros: u32| {
            let burn_time = Duration::from_micros(micros).ok()?;
            let dwell = Dwell::new(DwellSettings { burn_time, ..settings }).ok()?;
            let angles = Parts { dwell: &dwell, ..*self }.angles()?;
            let milliseconds = f64::from(micros) / 1e3;
            Some(format!(
                "where the spark burns no longer than that, write {besides}`burn_time = \"{milliseconds} ms\"` and {}",
                angles.words()
            ))
        };
        (1..now.div_ceil(BURN_STEP)).rev().map(|step| step * BURN_STEP).find_map(shorter)
    }
}
