//! Edges, samples and clocks at the sequencer.

use bobweight::{Answer, Flank};
use bobweight_tests::firmware::{Happening, Timer};
use bobweight_tests::plain::{Plain, depression, voltage};

/// The laws of any stream: the timer around the sequencer asserts them at every answer. A shifted clock changes nothing.
///
/// The first bytes choose the engine and the clock, then three bytes each make something happen.
pub fn sequencer(bytes: &[u8]) {
    let Some((&[pulses, angle, tick_rate, lag, c0, c1, c2, c3], stream)) = bytes.split_first_chunk() else { return };
    let plain = engine(pulses, angle, tick_rate, lag);
    let Ok(table) = plain.timetable() else { return };
    let clock_starts_at = u32::from_le_bytes([c0, c1, c2, c3]);
    let mut timer = Timer::new(&plain, &table, 0);
    play(&mut timer, &plain, stream);
    let mut shifted = Timer::new(&plain, &table, clock_starts_at);
    play(&mut shifted, &plain, stream);
    assert_eq!(relative(&timer, 0), relative(&shifted, clock_starts_at));
}

fn engine(pulses: u8, angle: u8, tick_rate: u8, lag: u8) -> Plain {
    Plain {
        pulses: 1 + pulses % 12,
        // The top bit takes the second flank away.
        second_flank_angle: (pulses < 128).then_some(8.0),
        pickup_angle: 42.0 + f64::from(angle) / 4.0,
        tick_rate: [250e3, 1e6, 2e6, 16e6, 125e6, 200e6][usize::from(tick_rate % 6)],
        lag: f64::from(lag) * 500e-6 / 255.0,
        ..Plain::fire_float()
    }
}

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // Gaps are small and positive.
fn play(timer: &mut Timer<'_>, plain: &Plain, stream: &[u8]) {
    let period = plain.period(1000.0) * plain.tick_rate;
    let mut at = timer.now();
    for &[kind, gap, value] in stream.as_chunks().0 {
        // To 4 periods at 1 000 crank rpm in steps of a 64th; one kind makes a long stop of it.
        let periods = f64::from(gap) / if kind & 0x80 == 0 { 64.0 } else { 4.0 };
        at = at.max(timer.now()) + (periods * period) as u64;
        timer.happen(at, happening(kind & 0x7f, value));
    }
}

fn happening(kind: u8, value: u8) -> Happening {
    match kind % 10 {
        0..=3 => Happening::Edge { flank: Flank::Timing, handled_after: u32::from(value) },
        4 => Happening::Edge { flank: Flank::Timing, handled_after: u32::from(value) << 13 },
        5 => Happening::Edge { flank: Flank::Second, handled_after: u32::from(value) },
        6 => Happening::Sample((value < 200).then(|| depression(f64::from(value) / 2.0)), value.is_multiple_of(2)),
        7 => Happening::Battery(voltage(f64::from(value) / 12.0)),
        8 => Happening::Hold(value.is_multiple_of(2)),
        _ => Happening::Poll,
    }
}

fn relative(timer: &Timer<'_>, clock_starts_at: u32) -> Vec<(u64, Answer)> {
    let back = |tick: u32| tick.wrapping_sub(clock_starts_at);
    let answers = timer.answers.iter().map(|&(now, answer)| {
        let answer = match answer {
            Answer::Nothing | Answer::Cancel => answer,
            Answer::Order { on, off } => Answer::Order { on: back(on), off: back(off) },
            Answer::MoveOff { off } => Answer::MoveOff { off: back(off) },
        };
        (now, answer)
    });
    answers.collect()
}
