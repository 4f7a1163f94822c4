//! What the sparks carry.

use super::cells::Ordered;
use super::running::{ONE, share, wait};
use super::{Cause, Coil, Energies, SparkList};
use crate::circuit::Circuit;
use crate::divide::floored;
use crate::dwell::SHORTEST_DWELL;
use crate::quantity::{Current, Duration, Energy, Power, Resistance, Voltage};

/// How much hotter than 20 degrees Celsius a winding gets: a coil bolted to a warm engine, at work. Common practice, no source.
pub const HOT: i32 = 100;
/// How much colder it starts: at -20 degrees Celsius. Common practice, no source.
pub const COLD: i32 = -40;
/// More than any largest dwell, in ns.
const ALL_OF_IT: u64 = 1 << 30;
/// Cells of a battery's range between two breakpoints of the dwell table.
const CELLS: u32 = 1 << CELLS_AS_POWER;
const CELLS_AS_POWER: u32 = 4;

/// The circuit while the starter turns the engine.
fn starting(coil: &Coil) -> Circuit {
    let ballast = if coil.ballast_bypassed { Resistance::MIN } else { coil.circuit.ballast };
    Circuit { ballast, ..coil.circuit }
}

/// What can shorten a dwell.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Left {
    /// A running engine at one speed.
    Steady,
    /// One whose speed changes: the first dwell after cranking, or after too high a speed, begins with its edge.
    Changing,
    /// A cranking engine, just before it counts as running.
    Cranking,
    /// A fault.
    Nothing,
}

impl SparkList<'_> {
    /// The longest dwell of the table that a running engine's battery asks for.
    pub(super) fn longest_dwell_ticks(&self) -> u32 {
        let longest = self.longest_dwell_ns(self.around.battery.running);
        Duration::saturating_from_bits(longest as u32).ticks_up(self.firmware.tick_rate)
    }

    /// The longest dwell of the table between two voltages, in ns.
    pub(super) fn longest_dwell_ns(&self, battery: [Voltage; 2]) -> i64 {
        let mut longest = 0;
        self.each_voltage(battery, &mut |_, dwell| longest = longest.max(dwell[1].bits()));
        i64::from(longest)
    }

    /// Goes through a range of voltages in cells: the two voltages, and the shortest and longest dwell between them.
    #[inline(never)]
    fn each_voltage(&self, battery: [Voltage; 2], take: &mut dyn FnMut([Voltage; 2], [Duration; 2])) {
        let curve = &self.dwell.settings().curve;
        let [least, greatest] = battery.map(|voltage| u32::from(voltage.bits()));
        let mut low = least;
        let corners = (0..curve.count()).map(|i| u32::from(curve.breakpoint(i).0.bits()));
        for corner in corners.filter(|corner| *corner > least && *corner < greatest).chain([greatest.max(least)]) {
            for i in 0..CELLS {
                let at =
                    |i: u32| Voltage::saturating_from_bits((low + (((corner - low) * i) >> CELLS_AS_POWER)) as u16);
                let ends = [at(i), at(i + 1)];
                let dwells = ends.map(|voltage| curve.at(voltage));
                take(ends, [dwells[0].min(dwells[1]), dwells[0].max(dwells[1])]);
            }
            low = corner;
        }
    }

    /// The energy of a cause's sparks.
    #[inline(never)]
    pub(super) fn energy(&self, cause: Cause) -> Option<Energies> {
        let coil = self.around.coil?;
        let battery = self.around.battery;
        let energies = match cause {
            Cause::Running | Cause::SensorStuck => {
                self.energies(&coil.circuit, battery.running, Left::Steady, self.stretched(false))
            }
            // A held spark is timed as it is at one speed, but of a reluctor its crossing may end it.
            Cause::Held => {
                let left = if self.crossing().is_some() { Left::Changing } else { Left::Steady };
                self.energies(&coil.circuit, battery.running, left, self.stretched(false))
            }
            // What rises may have fallen while the dwell waited for its edge.
            Cause::SpeedRising => self.energies(&coil.circuit, battery.running, Left::Changing, self.stretched(true)),
            Cause::Cranking => return self.cranking_energy(battery.cranking),
            Cause::BatteryLow => return self.cranking_energy([battery.cranking[0]; 2]),
            Cause::Catching | Cause::AfterStop => self.while_the_voltage_changes(&coil),
            Cause::SpeedFalling | Cause::LostEdge => {
                let falling = self.energies(&coil.circuit, battery.running, Left::Changing, self.stretched(true));
                if self.crossing().is_some() { self.with_dwells_in_vain(&coil, cause, falling) } else { falling }
            }
            // Whatever the fault, the largest dwell bounds it.
            Cause::FalseEdge | Cause::FalseEdgeCranking | Cause::Burst | Cause::KeyOff | Cause::Reset => {
                let running = self.energies(&coil.circuit, battery.running, Left::Nothing, ALL_OF_IT);
                let cranking = self.energies(&starting(&coil), battery.cranking, Left::Nothing, ALL_OF_IT);
                Energies { least: Energy::MIN, greatest: running.greatest.max(cranking.greatest) }
            }
            Cause::KeyOn => return None,
        };
        Some(energies)
    }

    #[inline(never)]
    pub(super) fn cranking_energy(&self, battery: [Voltage; 2]) -> Option<Energies> {
        let coil = self.around.coil?;
        // A dwell by a reluctor's moving flank waits for its crossing.
        let stretched = if self.table.times.dwell_by_moving_flank { ALL_OF_IT } else { 0 };
        Some(self.energies(&starting(&coil), battery, Left::Cranking, stretched))
    }

    /// Dwells by a reluctor's moving flank whose crossing does not come last as long as the largest.
    #[inline(never)]
    fn with_dwells_in_vain(&self, coil: &Coil, cause: Cause, others: Energies) -> Energies {
        let battery = self.around.battery;
        let mut all = others;
        let running = self.energies(&coil.circuit, battery.running, Left::Cranking, ALL_OF_IT);
        let starting = self.energies(&starting(coil), battery.cranking, Left::Cranking, ALL_OF_IT);
        for of in [Some(running), (cause == Cause::LostEdge).then_some(starting)].into_iter().flatten() {
            all = Energies { least: all.least.min(of.least), greatest: all.greatest.max(of.greatest) };
        }
        all
    }

    /// Least and greatest between two voltages. Of a dwell there remains at least what `left` says; one that its edge keeps waiting
    /// lasts longer than the table's by up to `stretched` ns, and never longer than the largest.
    #[inline(never)]
    fn energies(&self, circuit: &Circuit, battery: [Voltage; 2], left: Left, stretched: u64) -> Energies {
        let (hot, cold) = (circuit.warmed(HOT), circuit.warmed(COLD));
        let room = self.room_of(left);
        let (mut least, mut greatest) = (Energy::MAX, Energy::MIN);
        self.each_voltage(battery, &mut |volts, dwell| {
            least = least.min(hot.energy(volts[0], self.least_dwell(dwell[0].min(room), left)));
            let longest = u64::from(dwell[1].bits()) + stretched;
            let longest = Duration::saturating_from_bits(u32::try_from(longest).unwrap_or(u32::MAX));
            greatest = greatest.max(cold.energy(volts[1], longest.min(self.dwell.settings().largest)));
        });
        Energies { least, greatest }
    }

    /// The starter takes the battery down as it begins, and lets it go as the engine catches: a dwell of one voltage then runs with another.
    #[inline(never)]
    fn while_the_voltage_changes(&self, coil: &Coil) -> Energies {
        let battery = self.around.battery;
        let (mut least, mut greatest) = (Energy::MAX, Energy::MIN);
        let (mut shortest, mut longest) = (Duration::MAX, Duration::MIN);
        for volts in [battery.cranking, battery.running] {
            self.each_voltage(volts, &mut |_, dwell| {
                (shortest, longest) = (shortest.min(dwell[0]), longest.max(dwell[1]));
            });
        }
        if !self.catches_gently() {
            // An edge that finds the dwell of a far too long period moves its end.
            longest = self.dwell.settings().largest;
        }
        let [cranking, changing] =
            [Left::Cranking, Left::Changing].map(|left| self.least_dwell(shortest.min(self.room_of(left)), left));
        shortest = cranking.min(changing);
        for (circuit, volts) in [(starting(coil), battery.cranking), (coil.circuit, battery.running)] {
            least = least.min(circuit.warmed(HOT).energy(volts[0], shortest));
            greatest = greatest.max(circuit.warmed(COLD).energy(volts[1], longest));
        }
        Energies { least, greatest }
    }

    /// By how much a dwell that began before its edge may outlast the table's, in ns: the edge is late by what the pulses are uneven, or by as much as
    /// the speed can fall.
    fn stretched(&self, falling: bool) -> u64 {
        let speeds = &self.model.settings().speeds;
        let mut most = 0;
        self.each_cell(speeds.cranking_below, speeds.no_spark_above, Ordered::Running, &mut |cell| {
            if self.dwell_precedes(cell) {
                let latest = self.delay_q16(cell.advance[0]);
                let [period, _] = cell.periods;
                let wait = if falling { wait(period, &cell.windows[0], latest) } else { 0 };
                most = most.max(share(period, self.uneven_q16(latest)) + wait + 4);
            }
        });
        self.nanoseconds(most)
    }

    /// What uneven pulses can move a dwell's off time by after its on time was reckoned, as a share of the period: the last edge and the next, and
    /// two periods of two edges each, with the delay's share of them.
    pub(super) fn uneven_q16(&self, delay_q16: i64) -> i64 {
        floored(self.spread() * (6 * ONE + 4 * delay_q16), self.pulse()) + 1
    }

    /// The least room that is left to a dwell.
    fn room_of(&self, left: Left) -> Duration {
        match left {
            Left::Steady => self.room(false),
            Left::Changing => self.room(true),
            Left::Cranking => self.cranking_room(),
            Left::Nothing => Duration::MIN,
        }
    }

    #[inline(never)]
    fn room(&self, changing: bool) -> Duration {
        let times = &self.table.times;
        let speeds = &self.model.settings().speeds;
        let longest = self.longest_dwell_ticks();
        let mut least = u32::MAX;
        self.each_cell(speeds.cranking_below, speeds.no_spark_above, Ordered::Running, &mut |cell| {
            let [longest_period, shortest_period] = cell.periods;
            // Of uneven pulses the shortest period has the shortest dwell.
            let even_q16 = ONE - floored((2 * self.spread()) << 16, self.pulse());
            let duty = share(share(shortest_period, even_q16), i64::from(times.duty_q16));
            let after_burn = shortest_period.saturating_sub(times.burn);
            let [soonest, latest] = [cell.advance[1], cell.advance[0]].map(|advance| self.delay_q16(advance));
            let delay = share(shortest_period, soonest).saturating_sub(times.lag);
            let after_edge = delay.saturating_sub(times.latency);
            // A dwell before its edge waits for the slowest one, and no longer than the largest dwell; its edge then ends it sooner where the
            // pulses are uneven.
            let wait = wait(longest_period, &cell.windows[0], latest) + 4;
            let before_edge = times.largest_dwell.saturating_sub(wait).min(longest);
            let before_edge = before_edge.saturating_sub(share(longest_period, self.uneven_q16(latest)));
            let before_counts = after_edge < longest && !cell.windows[0].could_stop && !changing;
            let room = if before_counts { before_edge.max(after_edge) } else { after_edge };
            least = least.min(duty).min(after_burn).min(room);
        });
        self.of_ticks(least.max(times.shortest_dwell))
    }

    /// The least room that a cranking engine leaves a dwell, just before it counts as running.
    #[inline(never)]
    fn cranking_room(&self) -> Duration {
        let times = &self.table.times;
        let share = |q16: i64| ((i64::from(times.running_to) * q16) >> 16) as u32;
        let duty = share(i64::from(times.duty_q16));
        let room = if times.after_second_flank_q16 > 0 {
            share(i64::from(times.after_second_flank_q16)).saturating_sub(times.burn)
        } else if self.crossing().is_some() {
            share(ONE / 2).saturating_sub(times.burn)
        } else {
            let wanted = i64::from(self.model.settings().cranking.bits());
            let delay = share(self.delay_q16(wanted)).saturating_sub(times.lag);
            delay.saturating_sub(times.latency)
        };
        self.of_ticks(duty.min(room).max(times.shortest_dwell))
    }

    pub(super) fn nanoseconds(&self, ticks: u32) -> u64 {
        // Ticks in 32 bits: the product is under 2^62.
        floored(i64::from(ticks) * 1_000_000_000, i64::from(self.firmware.tick_rate.bits())) as u64
    }

    /// Ticks as a time, rounded down, and no shorter than the shortest dwell.
    fn of_ticks(&self, ticks: u32) -> Duration {
        let nanoseconds = self.nanoseconds(ticks);
        let time = Duration::saturating_from_bits(u32::try_from(nanoseconds).unwrap_or(u32::MAX));
        time.max(SHORTEST_DWELL)
    }

    /// The greatest current of any ordinary spark: the winding cold, the battery at its greatest.
    pub(super) fn greatest_current(&self, coil: &Coil) -> Current {
        let battery = self.around.battery;
        let mut greatest = Current::MIN;
        for (circuit, volts) in [(coil.circuit, battery.running), (starting(coil), battery.cranking)] {
            let cold = circuit.warmed(COLD);
            self.each_voltage(volts, &mut |volts, dwell| greatest = greatest.max(cold.current(volts[1], dwell[1])));
        }
        greatest
    }

    /// The greatest heat in the winding of a running engine: the winding cold, the battery at its greatest, at whatever speed the coil is on for the
    /// longest share of the time.
    pub(super) fn greatest_heat(&self, coil: &Coil) -> Power {
        let cold = coil.circuit.warmed(COLD);
        let speeds = &self.model.settings().speeds;
        let duty = i64::from(self.table.times.duty_q16);
        let mut greatest = Power::MIN;
        self.each_voltage(self.around.battery.running, &mut |volts, dwell| {
            // On for as long as the dwell, in the shortest period that the largest duty allows for it, or that there is.
            let shortest = self.nanoseconds(self.table.period_of(speeds.no_spark_above));
            let of_duty = floored(i64::from(dwell[1].bits()) << 16, duty.max(1)) as u64;
            let period = Duration::saturating_from_bits(u32::try_from(shortest.max(of_duty)).unwrap_or(u32::MAX));
            greatest = greatest.max(cold.heat(volts[1], dwell[1], period));
        });
        greatest
    }
}
