//! The whole way, byte by byte: commands, flanks, the core's sequencer, sparks, events. Wanted angles come from the curve's own
//! formula in `f64`; angles measured, from the commanded motion: 6 N degrees a second.
// Test figures are small and chosen; what a cast could lose is not there.
#![allow(clippy::cast_possible_truncation, clippy::cast_precision_loss, clippy::cast_sign_loss, clippy::float_cmp)]

use std::io::{Read, Write};
use std::time::Instant;

use bobweight::quantity::{
    Acceleration, Advance, AdvanceRate, CrankAngle, CrankSpeed, Depression, Duration, Duty, TickRate, Voltage,
};
use bobweight::{
    AdvanceModel, AdvanceSettings, CentrifugalCurve, Dwell, DwellCurve, DwellSettings, Firmware, Limits, PhaseSpeeds,
    Pickup, PickupSettings, Timetable, Vacuum, VacuumCurve, VacuumSource,
};
use bobweight_wire::{
    CrankPattern, Disturbance, EventKind, HostMessage, Intake, PickupPattern, Ramp, RunLength, SpeedRatio, TimingEdge,
    Upset,
};

use super::*;
use crate::link::{Event, Link, LinkError, serial};

const TICKS: f64 = SIMULATED_TICK_RATE as f64;

fn advance(degrees: f64) -> Advance {
    Advance::from_bits((degrees * f64::from(Advance::STEP)) as i32).unwrap()
}

fn angle(degrees: f64) -> CrankAngle {
    CrankAngle::from_bits((degrees * f64::from(CrankAngle::STEP)) as i32).unwrap()
}

fn speed(rpm: u32) -> CrankSpeed {
    CrankSpeed::from_bits(rpm * CrankSpeed::STEP).unwrap()
}

fn depression(kpa: f64) -> Depression {
    Depression::from_bits((kpa * f64::from(Depression::STEP)) as u32).unwrap()
}

fn volts(volts: u16) -> Voltage {
    Voltage::from_bits(volts * 256).unwrap()
}

fn micros(micros: u32) -> Duration {
    Duration::from_micros(micros).unwrap()
}

/// An invented engine with four pulses in two turns, a vane at 60 and 8 crank degrees BTDC.
fn engine() -> (AdvanceModel, Pickup, Dwell, Firmware) {
    let centrifugal = [(900, 0.0), (1700, 12.0), (3300, 20.0)].map(|(x, y)| (speed(x), advance(y)));
    let vacuum = [(16.0, 0.0), (40.0, 10.0)].map(|(x, y)| (depression(x), advance(y)));
    let model = AdvanceModel::new(AdvanceSettings {
        initial: advance(8.0),
        cranking: advance(8.0),
        held: advance(8.0),
        centrifugal: CentrifugalCurve::new(&centrifugal).unwrap(),
        vacuum: Some(Vacuum {
            curve: VacuumCurve::new(&vacuum).unwrap(),
            source: VacuumSource::Manifold,
            greatest_rate: AdvanceRate::from_bits(30 << 16).unwrap(),
        }),
        limits: Limits {
            greatest: advance(42.0),
            greatest_without_vacuum: advance(30.0),
            greatest_cranking: advance(10.0),
            least: advance(0.0),
        },
        speeds: PhaseSpeeds {
            cranking_below: speed(400),
            running_from: speed(450),
            no_spark_above: speed(4800),
            spark_again_below: speed(4700),
        },
    })
    .unwrap();
    let pickup = Pickup::new(PickupSettings {
        pulses_in_two_turns: 4,
        angle: angle(60.0),
        second_flank_angle: Some(angle(8.0)),
        lag: micros(0),
        greatest_acceleration: Acceleration::from_bits(6000).unwrap(),
        pulse_spread: angle(0.5),
    })
    .unwrap();
    let dwell = [(8, 9700), (12, 3900), (16, 2600)].map(|(v, us)| (volts(v), micros(us)));
    let dwell = Dwell::new(DwellSettings {
        curve: DwellCurve::new(&dwell).unwrap(),
        largest: micros(10_000),
        largest_duty: Duty::from_bits(45_875).unwrap(),
        burn_time: micros(1500),
    })
    .unwrap();
    let firmware = Firmware { tick_rate: TickRate::from_bits(2_000_000).unwrap(), latency: micros(100) };
    (model, pickup, dwell, firmware)
}

/// The curve's own formula.
fn wanted(rpm: f64, kpa: f64) -> f64 {
    let between =
        |x: f64, (x0, y0): (f64, f64), (x1, y1): (f64, f64)| y0 + (y1 - y0) * ((x - x0) / (x1 - x0)).clamp(0.0, 1.0);
    let centrifugal = if rpm < 1700.0 {
        between(rpm, (900.0, 0.0), (1700.0, 12.0))
    } else {
        between(rpm, (1700.0, 12.0), (3300.0, 20.0))
    };
    8.0 + centrifugal + between(kpa, (16.0, 0.0), (40.0, 10.0))
}

fn timetable(imperfections: &Imperfections) -> (Timetable, Firmware) {
    let (model, pickup, dwell, firmware) = engine();
    let ignition = ImperfectIgnition::new(&model, &pickup, imperfections).unwrap();
    (ignition.timetable(&dwell, &firmware).unwrap(), firmware)
}

fn pattern() -> HostMessage {
    HostMessage::Pattern(PickupPattern {
        pulses_in_two_turns: 4,
        timing: bobweight_wire::CrankAngle(60 * 256),
        second: Some(bobweight_wire::CrankAngle(8 * 256)),
        timing_edge: TimingEdge::Falling,
    })
}

fn with_bench<R>(
    imperfections: Imperfections,
    seed: u64,
    run: impl FnOnce(&mut Link<SimulatedBench<CoreIgnition<'_>>>) -> R,
) -> R {
    let (table, firmware) = timetable(&imperfections);
    let ignition = CoreIgnition::new(&table, firmware, volts(12));
    let mut link = SimulatedBench::new(ignition, imperfections, seed).link().unwrap();
    link.request(pattern()).unwrap();
    run(&mut link)
}

fn wire_speed(rpm: f64) -> bobweight_wire::CrankSpeed {
    bobweight_wire::CrankSpeed((rpm * 256.0) as u32)
}

/// The events of one run, from its first flank to its end.
fn run<S: Read + Write>(link: &mut Link<S>, cycles: u32) -> Vec<Event> {
    let sequence = link.request(HostMessage::Run(RunLength::Cycles(cycles))).unwrap();
    let mut events = link.events().map(Result::unwrap);
    let _ = events.by_ref().take_while(|event| event.kind != EventKind::Begun(sequence)).count();
    events.take_while(|event| event.kind != EventKind::Finished).collect()
}

/// Angle BTDC of every spark: each belongs to the last timing flank, 60 degrees BTDC, and the crank turns steadily.
fn steady_angles(events: &[Event], rpm: f64) -> Vec<f64> {
    let mut flank = None;
    let mut angles = Vec::new();
    for event in events {
        match event.kind {
            EventKind::Timing => flank = Some(event.at),
            EventKind::CoilOff => {
                if let Some(flank) = flank {
                    angles.push(60.0 - 6.0 * rpm * (event.at - flank) as f64 / TICKS);
                }
            }
            _ => {}
        }
    }
    angles
}

fn settle<S: Read + Write>(link: &mut Link<S>, rpm: f64, kpa: f64) {
    let intake = Intake { depression: bobweight_wire::Depression((kpa * 256.0) as u16), throttle_closed: false };
    link.request(HostMessage::Intake(intake)).unwrap();
    link.request(HostMessage::Speed(wire_speed(rpm))).unwrap();
    run(link, 8);
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

fn deviation(values: &[f64]) -> f64 {
    let mean = mean(values);
    (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (values.len() - 1) as f64).sqrt()
}

/// Every spark within the tick at either end, 0.02 degrees of the core and the 0.01 degrees that one tick more or less of
/// the period makes of the delay.
#[test]
fn a_perfect_ignition_sparks_where_the_curve_says() {
    with_bench(Imperfections::default(), 1, |link| {
        let mut worst: f64 = 0.0;
        for rpm in [500.0, 650.0, 900.0, 1300.0, 1700.0, 2500.0, 3300.0, 4600.0] {
            for kpa in [0.0, 28.0, 45.0] {
                settle(link, rpm, kpa);
                // The vacuum advance is added at 30 degrees a second.
                run(link, (rpm / 120.0) as u32 + 1);
                let events = run(link, 12);
                let angles = steady_angles(&events, rpm);
                assert_eq!(angles.len(), 48, "{rpm} crank rpm");
                for angle in angles {
                    let error = angle - wanted(rpm, kpa);
                    worst = worst.max(error.abs());
                    let bound = 0.03 + 6.0 * rpm * 3.0 / TICKS;
                    assert!(error.abs() < bound, "{rpm} crank rpm, {kpa} kPa: {angle}, not {}", wanted(rpm, kpa));
                }
            }
        }
        println!("worst spark {worst:.4} crank degrees out");
    });
}

#[test]
fn a_lag_is_late_by_six_degrees_an_rpm_and_second() {
    let imperfections = Imperfections { lag_us: 150.0, ..Imperfections::default() };
    with_bench(imperfections, 2, |link| {
        for rpm in [650.0, 2500.0, 4600.0] {
            settle(link, rpm, 0.0);
            let late = wanted(rpm, 0.0) - mean(&steady_angles(&run(link, 12), rpm));
            assert!((late - 6.0 * rpm * 150e-6).abs() < 0.03 + 6.0 * rpm * 3.0 / TICKS, "{late} late at {rpm}");
        }
    });
}

#[test]
fn a_pickup_error_is_the_same_angle_everywhere() {
    for early in [1.5, -2.0] {
        let imperfections = Imperfections { pickup_early_degrees: early, ..Imperfections::default() };
        with_bench(imperfections, 3, |link| {
            for rpm in [650.0, 2500.0, 4600.0] {
                settle(link, rpm, 0.0);
                let measured = mean(&steady_angles(&run(link, 12), rpm)) - wanted(rpm, 0.0);
                assert!((measured - early).abs() < 0.03 + 6.0 * rpm * 3.0 / TICKS, "{measured} early at {rpm}");
            }
        });
    }
}

/// The scatter's own standard error over 4 000 sparks is a hundredth of it.
#[test]
fn scatter_and_losses_are_those_asked_for() {
    let imperfections = Imperfections { scatter_degrees: 0.5, lose: 1.0 / 40.0, ..Imperfections::default() };
    with_bench(imperfections, 4, |link| {
        settle(link, 2000.0, 0.0);
        let angles = steady_angles(&run(link, 1000), 2000.0);
        assert!((deviation(&angles) - 0.5).abs() < 0.03, "scatter {}", deviation(&angles));
        assert!((mean(&angles) - wanted(2000.0, 0.0)).abs() < 0.05, "mean {}", mean(&angles));
        // 100 of 4 000, standard deviation 9.9.
        let lost = 4000 - angles.len();
        assert!((60..140).contains(&lost), "{lost} lost");
    });
}

#[test]
fn a_weak_vacuum_unit_and_a_fast_clock() {
    let imperfections = Imperfections { vacuum_share: 0.8, ..Imperfections::default() };
    with_bench(imperfections, 5, |link| {
        settle(link, 2500.0, 40.0);
        run(link, 20);
        let angle = mean(&steady_angles(&run(link, 12), 2500.0));
        assert!((angle - (wanted(2500.0, 0.0) + 8.0)).abs() < 0.06, "{angle}");
    });
    // 0.5 % fast, it takes the crank for 0.5 % slower: on a ramp of 12 degrees in 800 rpm at 1 300 rpm that is 0.0975 degrees.
    let imperfections = Imperfections { clock_fast: 0.005, ..Imperfections::default() };
    with_bench(imperfections, 6, |link| {
        settle(link, 1300.0, 0.0);
        let angle = mean(&steady_angles(&run(link, 12), 1300.0));
        let slower = wanted(1300.0 / 1.005, 0.0);
        assert!((angle - slower).abs() < 0.04, "{angle}, not {slower}");
    });
}

#[test]
fn one_pulse_stands_apart() {
    let uneven = Some(UnevenPulse { pulse: 0, early_degrees: -2.0 });
    with_bench(Imperfections { uneven, ..Imperfections::default() }, 7, |link| {
        settle(link, 2000.0, 0.0);
        let angles = steady_angles(&run(link, 12), 2000.0);
        let means: Vec<f64> =
            (0..4).map(|n| mean(&angles.iter().skip(n).step_by(4).copied().collect::<Vec<_>>())).collect();
        let late = means.iter().filter(|m| (**m - (wanted(2000.0, 0.0) - 2.0)).abs() < 0.05).count();
        let right = means.iter().filter(|m| (**m - wanted(2000.0, 0.0)).abs() < 0.05).count();
        assert_eq!((late, right), (1, 3), "{means:?}");
    });
}

/// On a ramp the angle comes from the commanded motion: `6 (v t + a t^2 / 2)` degrees after the flank at which it began. An
/// ignition that knows the last period T alone is late by `(pickup angle - advance) (1 + f) / 2 * a m T^2 / 120` (f is the delay's
/// share of T; kinematics), and its curve is read at the speed of `(1/2 + f) T` ago.
#[test]
fn a_ramp_is_judged_by_its_commanded_motion() {
    with_bench(Imperfections::default(), 8, |link| {
        settle(link, 650.0, 0.0);
        let (from, to, rate) = (650.0, 4600.0, 2000.0);
        let ramp = Ramp { from: wire_speed(from), to: wire_speed(to), rate: bobweight_wire::Acceleration(2000 * 256) };
        let sequence = link.request(HostMessage::Ramp(ramp)).unwrap();
        let events: Vec<Event> =
            link.events().map(Result::unwrap).take_while(|event| event.kind != EventKind::RampEnded).collect();
        let begun = events.iter().find(|event| event.kind == EventKind::Begun(sequence)).unwrap().at;
        let (mut last, mut period) = (begun, 120.0 / (4.0 * from));
        let (mut sparks, mut nearest_to_bound) = (0, 0.0_f64);
        for event in events.iter().filter(|event| event.at >= begun) {
            let t = (event.at - begun) as f64 / TICKS;
            let speed = from + rate * t;
            let since = (6.0 * (from * t + rate * t * t / 2.0)).rem_euclid(180.0);
            match event.kind {
                EventKind::Timing => {
                    let off = since.min(180.0 - since);
                    assert!(off < 6.0 * speed / TICKS, "a flank lies {off} degrees off");
                    if event.at > last {
                        period = (event.at - last) as f64 / TICKS;
                    }
                    last = event.at;
                }
                EventKind::CoilOff if speed < to => {
                    let advance = wanted(speed, 0.0);
                    let late = advance - (60.0 - since);
                    let f = (60.0 - advance) / 180.0;
                    let steepest = 12.0 / 800.0;
                    let bound = (60.0 - advance) * (1.0 + f) / 2.0 * rate * 4.0 * period * period / 120.0
                        + steepest * rate * period * (0.5 + f);
                    assert!(late > -0.1 && late < bound + 0.1, "{late} late at {speed} crank rpm, bound {bound}");
                    nearest_to_bound = nearest_to_bound.max(late / bound);
                    sparks += 1;
                }
                _ => {}
            }
        }
        println!("{sparks} sparks on the ramp, late by up to {nearest_to_bound:.2} of the bound");
        assert!(sparks > 100);
    });
}

#[test]
fn cranking_sparks_between_flank_and_dwell() {
    with_bench(Imperfections::default(), 9, |link| {
        let crank = CrankPattern { mean: wire_speed(200.0), ratio: SpeedRatio(768) };
        link.request(HostMessage::Crank(crank)).unwrap();
        let events = run(link, 12);
        let mut second = 0;
        let mut sparks = 0;
        for event in &events {
            match event.kind {
                EventKind::Second => second = event.at,
                EventKind::CoilOff => {
                    sparks += 1;
                    let after = (event.at - second) as f64 / TICKS;
                    assert!(
                        (after - 0.0039).abs() < 3.0 / TICKS,
                        "one dwell of 12 V after the second flank: {after} s"
                    );
                }
                _ => {}
            }
        }
        assert!(sparks >= 40, "{sparks} sparks in 48 pulses");
    });
}

#[test]
fn a_lost_and_a_false_pulse_pass() {
    with_bench(Imperfections::default(), 10, |link| {
        settle(link, 2000.0, 0.0);
        for disturbance in [Disturbance::Lose, Disturbance::Add(bobweight_wire::CrankAngle(100 * 256))] {
            let upset = Upset { after_pulses: 4, disturbance };
            let sequence = link.request(HostMessage::Upset(upset)).unwrap();
            let events = run(link, 4);
            assert!(events.iter().any(|event| event.kind == EventKind::Begun(sequence)), "{disturbance:?}");
            let after = steady_angles(&run(link, 4), 2000.0);
            assert_eq!(after.len(), 16);
            assert!(after.iter().all(|angle| (angle - wanted(2000.0, 0.0)).abs() < 0.05), "{disturbance:?}: {after:?}");
        }
    });
}

#[test]
fn the_same_seed_gives_the_same_sparks() {
    let sparks = |seed| {
        let imperfections = Imperfections { scatter_degrees: 0.3, lose: 0.01, ..Imperfections::default() };
        with_bench(imperfections, seed, |link| {
            settle(link, 2000.0, 20.0);
            run(link, 20)
        })
    };
    assert_eq!(sparks(1), sparks(1));
    assert_ne!(sparks(1), sparks(2));
}

/// Prints the sparks simulated in a second; a time is a property of the computer and asserts nothing.
#[test]
fn sparks_a_second() {
    with_bench(Imperfections { scatter_degrees: 0.3, ..Imperfections::default() }, 11, |link| {
        settle(link, 3000.0, 20.0);
        let start = Instant::now();
        let sparks = steady_angles(&run(link, 25_000), 3000.0).len();
        println!("{:.0} simulated sparks a second", sparks as f64 / start.elapsed().as_secs_f64());
        assert_eq!(sparks, 100_000);
    });
}

/// Through a pseudo-terminal and the serial port's library; then the cable is pulled.
#[cfg(unix)]
#[test]
fn a_serial_port_carries_the_same() {
    use serialport::{SerialPort, TTYPort};

    let (mut board, host) = TTYPort::pair().unwrap();
    board.set_timeout(std::time::Duration::from_millis(1)).unwrap();
    let path = host.name().unwrap();
    let (pull, pulled) = std::sync::mpsc::channel::<()>();
    let bench = std::thread::spawn(move || {
        let (table, firmware) = timetable(&Imperfections::default());
        let ignition = CoreIgnition::new(&table, firmware, volts(12));
        let mut cable = Cable { port: board, pulled };
        serve(SimulatedBench::new(ignition, Imperfections::default(), 12), &mut cable)
    });

    let mut link = serial::open(&path).unwrap();
    assert_eq!(link.place(), format!("serial port {path}"));
    let busy = serial::open(&path).err().unwrap();
    assert!(busy.to_string().contains("another program is using it"), "{busy}");
    link.request(pattern()).unwrap();
    settle(&mut link, 650.0, 0.0);
    // Longer than the two seconds of silence that a stimulator allows.
    let angles = steady_angles(&run(&mut link, 20), 650.0);
    assert_eq!(angles.len(), 80);
    assert!(angles.iter().all(|angle| (angle - 8.0).abs() < 0.05), "{angles:?}");

    pull.send(()).unwrap();
    let error = link.events().find_map(Result::err).unwrap();
    assert!(matches!(error, LinkError::Broken { .. } | LinkError::Silent { .. }), "{error:?}");
    assert!(error.to_string().contains("look at the cable"), "{error}");
    bench.join().unwrap().unwrap();
    drop(host);
}

/// A serial port that ends when it is pulled.
#[cfg(unix)]
struct Cable {
    port: serialport::TTYPort,
    pulled: std::sync::mpsc::Receiver<()>,
}

#[cfg(unix)]
impl Read for Cable {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        if self.pulled.try_recv().is_ok() { Ok(0) } else { self.port.read(buffer) }
    }
}

#[cfg(unix)]
impl Write for Cable {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        self.port.write(bytes)
    }

    fn flush(&mut self) -> std::io::Result<()> {
        self.port.flush()
    }
}
