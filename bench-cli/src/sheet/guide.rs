//! What to tell somebody who is asked for a value of the sheet: why it is wanted, how it is measured, what is usual, and what may be
//! assumed until somebody knows. The question itself, and how the value is written, stand in the new sheet.
//!
//! A range without a source is common practice, and says so.

/// How an answer becomes a value of the sheet.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Form {
    /// A quantity; a number alone has this unit.
    Quantity(&'static str),
    /// A whole number.
    Whole,
    /// A text or a word, as it was typed.
    Text,
    /// A dwell table, such as `5.5 at 10, 3.9 at 12`: ms at V.
    DwellTable,
    /// Where weights and springs put the spark.
    Centrifugal,
    /// What the vacuum unit adds.
    Vacuum,
}

/// A value of the sheet.
#[derive(Clone, Copy, Debug)]
pub struct Guide {
    /// The key with its table.
    pub key: &'static str,
    /// Why it is asked.
    pub why: &'static str,
    /// How to know it.
    pub how: &'static str,
    /// What is usual, and who says so; empty where nothing is.
    pub usual: &'static str,
    /// The range of `usual`, of the number as it is typed in the unit of `form`.
    pub likely: Option<(f64, f64)>,
    /// How it is answered.
    pub form: Form,
    /// What is assumed until somebody knows.
    pub presumed: Presumed,
}

/// What may be assumed.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Presumed {
    /// Nothing: it has to be known first, and this is why.
    Nothing(&'static str),
    /// This value, for this reason.
    Value(&'static str, &'static str),
    /// A value that hangs on others of the sheet, for this reason.
    Reckoned(Reckoned, &'static str),
}

/// Values that hang on others.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Reckoned {
    /// No vacuum advance.
    NoVacuum,
    /// The initial timing, or the limit while cranking where that is less.
    Cranking,
    /// The initial timing.
    Initial,
    /// Well below idle.
    RunningFrom,
    /// Below that.
    CrankingBelow,
    /// Above the greatest speed.
    NoSparkAbove,
    /// Between the two.
    SparkAgainBelow,
    /// One for each cylinder.
    Pulses,
    /// Where the core can time the curve from.
    Angle,
    /// The cranking advance, for sparks come at that flank.
    SecondFlank,
    /// Wider with fewer pulses.
    BenchRamp,
}

const NO_LIMIT: &str = "a limit is never assumed: it is what you answer for. Look in the engine's book, or ask whoever knows this engine; an engine \
                        that was changed may stand less";

/// Every value that `begin` asks for, in its order.
pub const GUIDES: [Guide; 42] = [
    Guide {
        key: "advance.initial",
        why: "Everything else is added to it.",
        how: "Timing light at idle, vacuum hose off and stopped up; or the engine's book.",
        usual: "0 to 20 crank degrees before top dead centre (common practice, no source)",
        likely: Some((-5.0, 25.0)),
        form: Form::Quantity("crank degrees"),
        presumed: Presumed::Nothing(
            "without it there is no curve: read it with a timing light, hose off, at idle; or take the book's",
        ),
    },
    Guide {
        key: "centrifugal.breakpoints",
        why: "It is what the worn weights and springs did: the spark comes earlier the faster the engine turns.",
        how: "Timing light, hose off: from where the mark begins to move to where it stops, less the initial timing. A book often has \
              distributor degrees at distributor rpm: say `distributor` then. Either all of it, where it is all in and where it begins, `22 crank \
              degrees, 900..3000 crank rpm`; or, where you do not know where it begins, `22 crank degrees by 3000 crank rpm`; or each point that \
              you know, `0 at 450, 6 at 850, 10 at 1650, distributor`.",
        usual: "a few up to 42 crank degrees (U.S. Army TM 10-3930-623-12, par. 4-21 and 4-22)",
        likely: None,
        form: Form::Centrifugal,
        presumed: Presumed::Nothing(
            "without it there is no curve: `bobweight survey` leads you through reading it; or take the book's",
        ),
    },
    Guide {
        key: "vacuum.breakpoints",
        why: "It is what the vacuum unit did: the spark comes earlier while the engine pulls little.",
        how: "A hand pump on the unit, engine at a speed that it holds: how far does the mark move, from which to which depression? Either `12 crank \
              degrees, 5..12 inHg depression`; or `12 crank degrees` where you do not know which vacuum it takes; or each point, `0 at 5, 10 at \
              12, inHg depression, crank`; or `none` where there is no unit.",
        usual: "8 to 20 crank degrees (common practice, no source)",
        likely: None,
        form: Form::Vacuum,
        presumed: Presumed::Reckoned(
            Reckoned::NoVacuum,
            "no vacuum advance is counted until you know it: a spark that is too late wastes fuel, one that is too early breaks pistons",
        ),
    },
    Guide {
        key: "vacuum.source",
        why: "A hose just above the throttle has no vacuum at idle, one below it has the most there (U.S. Army TM 9-8000).",
        how: "Engine warm at idle, hose off the unit, a finger on it: it pulls, that is `manifold`; it does not, that is `ported`.",
        usual: "",
        likely: None,
        form: Form::Text,
        presumed: Presumed::Value(
            "manifold",
            "the curve with more advance at idle, so that the limits are proven with it",
        ),
    },
    Guide {
        key: "engine.cylinders",
        why: "Each has one spark in two turns of the crank.",
        how: "Count the plugs, one for each cylinder.",
        usual: "",
        likely: None,
        form: Form::Whole,
        presumed: Presumed::Nothing("count the plugs, one for each cylinder"),
    },
    Guide {
        key: "engine.supply",
        why: "Only 12 V with negative earth is driven; every other supply gets figures, and no ignition from here.",
        how: "The battery says its voltage. The lead that is bolted to body or block is the earth: minus is `negative`.",
        usual: "",
        likely: None,
        form: Form::Text,
        presumed: Presumed::Value("12 V negative earth", "the only one that is driven"),
    },
    Guide {
        key: "engine.idle",
        why: "The ignition must tell an engine that idles from one that the starter turns.",
        how: "Tachometer, engine warm.",
        usual: "500 to 1 200 crank rpm (common practice, no source)",
        likely: Some((400.0, 1300.0)),
        form: Form::Quantity("crank rpm"),
        presumed: Presumed::Value("700 crank rpm", "in the middle of what is usual"),
    },
    Guide {
        key: "engine.greatest_speed",
        why: "The bench tests up to here, and no engine is asked for more.",
        how: "The engine's book, or what you trust it with; never by trying.",
        usual: "3 000 to 7 000 crank rpm (common practice, no source)",
        likely: Some((1500.0, 9000.0)),
        form: Form::Quantity("crank rpm"),
        presumed: Presumed::Nothing(NO_LIMIT),
    },
    Guide {
        key: "limits.greatest",
        why: "No sum of all parts may come beyond it: an engine that pinks holes its pistons.",
        how: "The engine's book: initial timing, centrifugal and vacuum advance together, or what whoever knows this engine allows.",
        usual: "on many older V8 engines up to a little over 50 crank degrees (common practice, no source)",
        likely: Some((10.0, 60.0)),
        form: Form::Quantity("crank degrees"),
        presumed: Presumed::Nothing(NO_LIMIT),
    },
    Guide {
        key: "limits.greatest_without_vacuum",
        why: "At full throttle there is no vacuum, and there pinking does most harm.",
        how: "The engine's book: initial timing and centrifugal advance together, or what whoever knows this engine allows.",
        usual: "on many older V8 engines 32 to 36 crank degrees (common practice, no source)",
        likely: Some((5.0, 50.0)),
        form: Form::Quantity("crank degrees"),
        presumed: Presumed::Nothing(NO_LIMIT),
    },
    Guide {
        key: "limits.greatest_cranking",
        why: "A starter or a handle that kicks back breaks wrists.",
        how: "The engine's book, or the initial timing with which it has always started without kicking back.",
        usual: "0 to 15 crank degrees (common practice, no source)",
        likely: Some((-5.0, 20.0)),
        form: Form::Quantity("crank degrees"),
        presumed: Presumed::Nothing(NO_LIMIT),
    },
    Guide {
        key: "limits.least",
        why: "A spark that comes very late overheats exhaust and engine.",
        how: "The engine's book, or the least timing that it has ever run well with.",
        usual: "-5 to 10 crank degrees (common practice, no source)",
        likely: Some((-10.0, 15.0)),
        form: Form::Quantity("crank degrees"),
        presumed: Presumed::Nothing(NO_LIMIT),
    },
    Guide {
        key: "vacuum.greatest_rate",
        why: "Vacuum advance is added no faster than this, so that a gulp of the manifold is no jump of the spark.",
        how: "It is a choice. A slow one is quiet; it is taken away at once in any case.",
        usual: "10 to 100 crank degrees per s (common practice, no source)",
        likely: Some((5.0, 200.0)),
        form: Form::Quantity("crank degrees per s"),
        presumed: Presumed::Value("30 crank degrees per s", "in the middle of what is usual"),
    },
    Guide {
        key: "advance.cranking",
        why: "While the starter turns the engine the spark comes here and nowhere else.",
        how: "Where the old one had it: the initial timing, unless the engine kicks back.",
        usual: "0 to 12 crank degrees (common practice, no source)",
        likely: Some((-5.0, 15.0)),
        form: Form::Quantity("crank degrees"),
        presumed: Presumed::Reckoned(
            Reckoned::Cranking,
            "the initial timing, as the old distributor had it, or the limit while cranking where that is less",
        ),
    },
    Guide {
        key: "advance.held",
        why: "The ignition holds this advance while you set it on the engine with the timing light.",
        how: "It is a choice: a timing that the engine runs at and that its mark shows well.",
        usual: "",
        likely: Some((-5.0, 25.0)),
        form: Form::Quantity("crank degrees"),
        presumed: Presumed::Reckoned(Reckoned::Initial, "the initial timing"),
    },
    Guide {
        key: "advance.running_from",
        why: "From here on the engine counts as running.",
        how: "Above all that the starter can do, and well below idle.",
        usual: "400 to 600 crank rpm (common practice, no source)",
        likely: Some((150.0, 800.0)),
        form: Form::Quantity("crank rpm"),
        presumed: Presumed::Reckoned(Reckoned::RunningFrom, "well below idle"),
    },
    Guide {
        key: "advance.cranking_below",
        why: "A running engine that falls below it is cranking again.",
        how: "A little below the speed from which it runs.",
        usual: "",
        likely: Some((100.0, 750.0)),
        form: Form::Quantity("crank rpm"),
        presumed: Presumed::Reckoned(Reckoned::CrankingBelow, "50 crank rpm below the speed from which it runs"),
    },
    Guide {
        key: "advance.no_spark_above",
        why: "Above it there is no spark, which saves an engine that runs away; it is no governor.",
        how: "A little above the greatest speed.",
        usual: "",
        likely: Some((1500.0, 10_000.0)),
        form: Form::Quantity("crank rpm"),
        presumed: Presumed::Reckoned(Reckoned::NoSparkAbove, "200 crank rpm above the greatest speed"),
    },
    Guide {
        key: "advance.spark_again_below",
        why: "Sparks come back here.",
        how: "A little below the speed above which there is none.",
        usual: "",
        likely: Some((1400.0, 10_000.0)),
        form: Form::Quantity("crank rpm"),
        presumed: Presumed::Reckoned(Reckoned::SparkAgainBelow, "100 crank rpm below that"),
    },
    Guide {
        key: "pickup.place",
        why: "What turns with the pickup says how it can be read.",
        how: "Look at what you build or bought: in the old distributor, on the cam or on the crank.",
        usual: "",
        likely: None,
        form: Form::Text,
        presumed: Presumed::Value("distributor", "the old distributor stays, locked, and carries the pickup"),
    },
    Guide {
        key: "distributor.old_advance",
        why: "Weights that still work would move the pickup, and add their advance to the new one.",
        how: "Turn the rotor by hand against the shaft: it must not move. Weights and vacuum plate pinned or welded are `locked`.",
        usual: "",
        likely: None,
        form: Form::Text,
        presumed: Presumed::Value("locked", "nothing else is driven"),
    },
    Guide {
        key: "pickup.kind",
        why: "Each kind has rules of its own.",
        how: "Look at its data sheet, or at what you build.",
        usual: "",
        likely: None,
        form: Form::Text,
        presumed: Presumed::Value("vane", "a vane's flanks hold their angles at every speed"),
    },
    Guide {
        key: "pickup.bounce",
        why: "A bounce that is taken for a flank sparks far too early.",
        how: "A logic analyser on the points, at the greatest speed.",
        usual: "less than 1 ms (common practice, no source)",
        likely: Some((0.01, 1.5)),
        form: Form::Quantity("ms"),
        presumed: Presumed::Value("1 ms", "as long as is usual at most"),
    },
    Guide {
        key: "pickup.pulses_in_two_turns",
        why: "The ignition sparks once for each of them.",
        how: "Count vanes, slots, teeth or lobes; on the crank twice as many as you count there.",
        usual: "one for each cylinder",
        likely: None,
        form: Form::Whole,
        presumed: Presumed::Reckoned(Reckoned::Pulses, "one for each cylinder"),
    },
    Guide {
        key: "pickup.flank",
        why: "The ignition must know which change of its input is the first.",
        how: "A meter on the pickup's output while you turn the crank by hand: does it rise or fall at the angle that you gave?",
        usual: "",
        likely: None,
        form: Form::Text,
        presumed: Presumed::Value("falling", "as many vane pickups have it (common practice, no source)"),
    },
    Guide {
        key: "pickup.second_flank_angle",
        why: "Where the pickup has a second flank at the cranking advance, the starter's sparks come at it, with no guess of the speed in them.",
        how: "Turn the crank by hand, slowly, plugs out and battery off the coil: where does the pickup's output change the second time? Write `none` where \
              there is no such flank.",
        usual: "",
        likely: Some((-10.0, 20.0)),
        form: Form::Quantity("crank degrees BTDC"),
        presumed: Presumed::Reckoned(Reckoned::SecondFlank, "at the cranking advance"),
    },
    Guide {
        key: "pickup.angle",
        why: "Every spark is timed from here: an error of it is an error of all of them.",
        how: "True top dead centre by a stop first. Then turn the crank by hand, slowly, plugs out and battery off the coil, until the pickup's \
              output changes, and read the degrees on the tape.",
        usual: "some 10 to 20 crank degrees before the greatest advance (reckoned from the rules, in simulation)",
        likely: Some((5.0, 120.0)),
        form: Form::Quantity("crank degrees BTDC"),
        presumed: Presumed::Reckoned(Reckoned::Angle, "the first place from which this curve can be timed"),
    },
    Guide {
        key: "pickup.lag",
        why: "A flank that is seen late is a spark that comes late, the more the faster the engine turns.",
        how: "The pickup's data sheet; a logic analyser on its output against a mark on the shaft.",
        usual: "0 us of a vane, up to some 100 us (common practice, no source)",
        likely: Some((0.0, 300.0)),
        form: Form::Quantity("us"),
        presumed: Presumed::Value("0 us", "as a fast vane has it"),
    },
    Guide {
        key: "pickup.greatest_acceleration",
        why: "The ignition takes pulses that come sooner than the engine could for noise.",
        how: "Blip the throttle with nothing to pull, once and short: crank rpm gained over seconds. A greater figure is always on the safe side.",
        usual: "2 000 to 15 000 crank rpm per s (common practice, no source)",
        likely: Some((1000.0, 30_000.0)),
        form: Form::Quantity("crank rpm per s"),
        presumed: Presumed::Value("6000 crank rpm per s", "in the middle of what is usual"),
    },
    Guide {
        key: "pickup.pulse_spread",
        why: "Pulses that lie uneven make sparks that do.",
        how: "Measure the vanes or lobes on a rotary table, or by the crank's degrees; an old distributor's lobes may be out by 4 crank degrees \
              (U.S. Army TM 5-4210-230-14&P-1).",
        usual: "0 to 4 crank degrees (U.S. Army TM 5-4210-230-14&P-1, of an old distributor)",
        likely: Some((0.0, 4.0)),
        form: Form::Quantity("crank degrees"),
        presumed: Presumed::Value("0.5 crank degrees", "a well made vane (common practice, no source)"),
    },
    Guide {
        key: "ignition.tick",
        why: "No spark can be timed finer than its timer counts.",
        how: "The firmware's documentation.",
        usual: "",
        likely: Some((0.01, 10.0)),
        form: Form::Quantity("us"),
        presumed: Presumed::Value("0.5 us", "as the ignition that comes with this has it"),
    },
    Guide {
        key: "ignition.latency",
        why: "An edge that comes later than the spark that it orders is of no use.",
        how: "The firmware's documentation, or a logic analyser.",
        usual: "",
        likely: Some((1.0, 1000.0)),
        form: Form::Quantity("us"),
        presumed: Presumed::Value("300 us", "as the ignition that comes with this has it"),
    },
    Guide {
        key: "ignition.clock_tolerance",
        why: "A clock that is out shifts every spark that is timed by it.",
        how: "The data sheet of its crystal or resonator.",
        usual: "",
        likely: Some((0.0, 2.0)),
        form: Form::Quantity("%"),
        presumed: Presumed::Value("0.5 %", "as a ceramic resonator has it"),
    },
    Guide {
        key: "coil.largest_dwell",
        why: "Longer, and coil or driver burn.",
        how: "The data sheets of coil and driver; `bobweight coil` reckons it from a meter and a clock.",
        usual: "",
        likely: Some((1.0, 20.0)),
        form: Form::Quantity("ms"),
        presumed: Presumed::Value("10 ms", "for the simulation alone: no coil was looked at"),
    },
    Guide {
        key: "coil.dwell",
        why: "Too short is no spark, too long is a hot coil; and it goes by the battery's voltage.",
        how: "`bobweight coil` reckons it from a meter and a clock. Type ms at V: `9.7 at 8, 5.5 at 10, 3.9 at 12, 3.1 at 14, 2.6 at 16`.",
        usual: "",
        likely: None,
        form: Form::DwellTable,
        presumed: Presumed::Value(
            "[[8, 6], [10, 4.5], [12, 3.5], [14, 3], [16, 2.5]]",
            "for the simulation alone: no coil was looked at",
        ),
    },
    Guide {
        key: "coil.largest_duty",
        why: "A coil that is on most of the time gets hot.",
        how: "The data sheets of coil and driver; `bobweight coil` reckons the heat.",
        usual: "",
        likely: Some((20.0, 90.0)),
        form: Form::Quantity("%"),
        presumed: Presumed::Value("70 %", "for the simulation alone: no coil was looked at"),
    },
    Guide {
        key: "coil.burn_time",
        why: "The coil is not switched on again while its spark burns.",
        how: "An oscilloscope on the coil's low side, from its spike to where the level falls.",
        usual: "1 to 2 ms (common practice, no source)",
        likely: Some((0.3, 3.0)),
        form: Form::Quantity("ms"),
        presumed: Presumed::Value("1.5 ms", "in the middle of what is usual"),
    },
    Guide {
        key: "tolerance.bench",
        why: "A test point passes where its sparks come so near to the curve.",
        how: "It is a choice: what you ask of the box.",
        usual: "0.3 to 1 crank degrees (common practice, no source)",
        likely: Some((0.1, 3.0)),
        form: Form::Quantity("crank degrees"),
        presumed: Presumed::Value("0.5 crank degrees", "in the middle of what is usual"),
    },
    Guide {
        key: "tolerance.bench_ramp",
        why: "While the speed changes any ignition times by the period before it, and lags.",
        how: "It is a choice, and the rules set its least.",
        usual: "with four pulses a vane asks for some 5 crank degrees, a coil for some 15 (reckoned from the rules, in simulation)",
        likely: Some((0.5, 20.0)),
        form: Form::Quantity("crank degrees"),
        presumed: Presumed::Reckoned(Reckoned::BenchRamp, "what the rules ask for with so many pulses"),
    },
    Guide {
        key: "sensor.kind",
        why: "A sensor against the atmosphere and one against nothing read the same manifold differently.",
        how: "Its data sheet: absolute or differential.",
        usual: "",
        likely: None,
        form: Form::Text,
        presumed: Presumed::Nothing("it stands on the sensor's data sheet"),
    },
    Guide {
        key: "sensor.highest_place",
        why: "High up, the air is thin, and an absolute sensor takes that for vacuum.",
        how: "The highest place where the engine will run.",
        usual: "",
        likely: Some((-100.0, 3000.0)),
        form: Form::Quantity("m"),
        presumed: Presumed::Nothing("it is yours to say: the highest place where the engine will run"),
    },
    Guide {
        key: "tolerance.light",
        why: "By timing light a reading is right where it comes so near to the curve.",
        how: "It is a choice, and no finer than you can read.",
        usual: "1 to 3 crank degrees (common practice, no source)",
        likely: Some((0.5, 5.0)),
        form: Form::Quantity("crank degrees"),
        presumed: Presumed::Value("2 crank degrees", "in the middle of what is usual"),
    },
];

/// The guide to a key.
pub fn guide(key: &str) -> Option<&'static Guide> {
    GUIDES.iter().find(|guide| guide.key == key)
}

/// How to know a value, in a sentence.
pub(super) fn how_to_know(key: &str) -> String {
    let (table, name) = key.rsplit_once('.').unwrap_or(("", key));
    let known = guide(key).map(|guide| guide.how.to_owned());
    known.or_else(|| super::questions::question(table, name).map(|question| question.text)).unwrap_or_default()
}
