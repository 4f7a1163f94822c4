//! The stimulator's logic on the timers of an `ATmega328P`. The pins are in the README.
#![no_std]
#![no_main]
#![feature(abi_avr_interrupt, asm_experimental_arch)]

mod clock;
mod coil;
mod hardware;
mod pickup;
mod ring;
mod serial;

use bobweight_stimulator::wire::{
    Abilities, FirmwareVersion, Frame, FromBoard, HostMessage, Intake, Request, RequestDecoder,
};
use bobweight_stimulator::{Flank, FlankOrder, Settings, Stimulator};
use hardware::{CAPTURE, DDRB, DDRD, OCR2A, OCR2B, OVERFLOW, PORTD, SMCR, Shared, TCCR2A, TCCR2B, TIMSK1};

unsafe extern "C" {
    /// Defined nowhere: its name in the linker's complaint says what is wrong.
    safe fn a_panic_can_be_reached() -> !;
}

#[panic_handler]
fn panic(_: &core::panic::PanicInfo) -> ! {
    a_panic_can_be_reached()
}

const SETTINGS: Settings = Settings {
    firmware: FirmwareVersion { major: 0, minor: 1, patch: 0 },
    tick_rate_hz: 2_000_000,
    clock_tolerance_ppm: if cfg!(feature = "resonator") { 5_000 } else { 100 },
    abilities: Abilities {
        // 40 us, 900 pulses a second, 400 in a ramp and 150 while cranking: what the program keeps up with.
        shortest_interval: 80,
        shortest_pulse: 2_222,
        shortest_pulse_in_ramp: 5_000,
        shortest_pulse_cranking: 13_333,
        depression_step: DEPRESSION_STEP,
        throttle: true,
    },
};

/// Half a kilopascal in 1/256 kPa.
const DEPRESSION_STEP: u16 = 128;
/// The output at rest, in steps: 101.25 kPa absolute.
const ATMOSPHERE: u16 = 185;
/// PD4.
const THROTTLE: u8 = 1 << 4;

/// Frames on their way; one place, so that no frame stands on the stack.
struct Board {
    stimulator: Stimulator,
    decoder: RequestDecoder,
    frame: Frame,
    /// Bytes of the frame that are on their way.
    sent: usize,
    /// Orders that the pickup has and that have not come yet, as far as the logic knows.
    given: u8,
    /// The pickup's level after the last order given.
    high: bool,
    shown: Intake,
}

/// All but what interrupts work on. Not on the stack: it would be put together there twice.
static BOARD: Shared<Board> = Shared::new(Board {
    stimulator: Stimulator::new(SETTINGS).expect("a tick rate in range"),
    decoder: RequestDecoder::new(),
    frame: Frame::new(),
    sent: 0,
    given: 0,
    high: false,
    shown: Intake::AT_REST,
});

#[unsafe(no_mangle)]
extern "C" fn main() -> ! {
    set_up();
    // SAFETY: `main` runs once, and nothing else looks at it.
    let board = unsafe { BOARD.for_ever() };
    show(board.shown);
    hardware::enable_interrupts();
    loop {
        board.watch();
        board.send();
        board.receive();
        hardware::sleep_until(|| board.something_to_do());
    }
}

fn set_up() {
    DDRB.write(1 << 1);
    DDRD.write(1 << 1 | 1 << 3 | THROTTLE | 1 << 7);
    // Fast pulse width up to OCR2A, on OC2B, no prescaler.
    OCR2A.write(224);
    TCCR2A.write(0x23);
    TCCR2B.write(0x09);
    coil::set_up();
    TIMSK1.write(OVERFLOW | CAPTURE);
    serial::set_up();
    clock::set_up();
    // Idle: the timers go on.
    SMCR.write(1);
}

/// Depression and throttle at their pins.
fn show(intake: Intake) {
    let steps = (intake.depression.0.saturating_add(DEPRESSION_STEP / 2)) / DEPRESSION_STEP;
    let [high_steps, _] = ATMOSPHERE.saturating_sub(steps).saturating_sub(1).to_le_bytes();
    OCR2B.write(high_steps);
    DRIVE.with(|()| {
        let others = PORTD.read() & !THROTTLE;
        PORTD.write(if intake.throttle_closed { others } else { others | THROTTLE });
    });
}

/// Port D is shared with the strobe's interrupt.
static DRIVE: Shared<()> = Shared::new(());

impl Board {
    /// What the timer saw goes to the logic in the order of time; then the next flanks to the timer.
    #[inline(never)]
    fn watch(&mut self) {
        let (mut passed, late) = pickup::passed();
        let lost = coil::lost().saturating_add(late);
        if lost > 0 {
            self.stimulator.lost(lost);
        }
        loop {
            let flank = if self.given > 0 { self.stimulator.next_flank() } else { None };
            let edge = coil::first();
            match (flank, edge) {
                (Some(flank), Some((edge, at))) if at.wrapping_sub(flank.at) >= 1 << 31 => self.coil(edge, at),
                (Some(_), _) if passed > 0 => {
                    passed -= 1;
                    self.given -= 1;
                    self.stimulator.passed();
                }
                // Its interrupt is about to come, and its event stands before the coil's.
                (Some(_), _) | (None, None) => break,
                (None, Some((edge, at))) => self.coil(edge, at),
            }
        }
        self.stimulator.poll(clock::now());
        self.follow();
        pickup::look();
    }

    fn coil(&mut self, edge: bobweight_stimulator::CoilEdge, at: u32) {
        coil::pop();
        self.stimulator.coil(edge, at);
    }

    /// Makes pins and orders those of the logic.
    #[inline(never)]
    fn follow(&mut self) {
        let Some(next) = self.stimulator.next_flank() else {
            if self.given > 0 {
                pickup::recall();
                self.given = 0;
                // A flank that came while the logic took it away is in no batch.
                let (passed, _) = pickup::passed();
                self.stimulator.lost(passed);
            }
            self.high = self.stimulator.outputs().pickup_high;
            pickup::level(self.high);
            self.show();
            return;
        };
        if self.given == 0 {
            self.give(next);
        }
        if self.given == 1
            && let Some(after) = self.stimulator.flank_after()
        {
            self.give(after);
        }
        self.show();
    }

    fn show(&mut self) {
        let intake = self.stimulator.outputs().intake;
        if intake != self.shown {
            self.shown = intake;
            show(intake);
        }
    }

    fn give(&mut self, order: FlankOrder) {
        let active_high = self.stimulator.active_high();
        let high = match order.flank {
            Some(Flank::Timing) => active_high,
            Some(Flank::Second | Flank::Return) => !active_high,
            None => self.high,
        };
        self.high = high;
        pickup::order(pickup::Order { at: order.at, high });
        self.given += 1;
    }

    fn frame_waits(&self) -> bool {
        self.sent < self.frame.as_bytes().len()
    }

    fn something_to_do(&self) -> bool {
        clock::ticked()
            || pickup::has_passed()
            || coil::waits()
            || if self.frame_waits() { serial::takes_bytes() } else { serial::received() }
    }

    fn send(&mut self) {
        while let Some(&byte) = self.frame.as_bytes().get(self.sent) {
            if !serial::send(byte) {
                return;
            }
            self.sent += 1;
        }
        if let Some(batch) = self.stimulator.events(clock::now()) {
            self.sent = 0;
            // Every batch fits.
            let _ = self.frame.put(&FromBoard::Events(batch));
        }
    }

    fn receive(&mut self) {
        // A reply needs the frame's place.
        while !self.frame_waits() {
            let Some(byte) = serial::receive() else { return };
            match self.decoder.push::<Request>(byte) {
                None => {}
                Some(Ok(request)) => self.answer(&request),
                Some(Err(fault)) => self.start(&FromBoard::Unreadable(fault)),
            }
        }
    }

    #[inline(never)]
    fn answer(&mut self, request: &Request) {
        if request.message == HostMessage::Stop {
            self.stop();
        }
        let reply = self.stimulator.message(request, clock::now());
        self.follow();
        self.start(&FromBoard::Reply(&reply));
    }

    #[inline(never)]
    fn start(&mut self, message: &FromBoard<'_>) {
        self.sent = 0;
        // Every reply fits.
        let _ = self.frame.put(message);
    }

    /// Takes the orders back before the logic forgets them, so that a flank which came first is an event.
    fn stop(&mut self) {
        pickup::recall();
        let (passed, _) = pickup::passed();
        for _ in 0..passed.min(self.given) {
            self.stimulator.passed();
        }
        self.given = 0;
    }
}
