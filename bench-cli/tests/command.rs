//! The shipped command as its user has it: what it prints where, its exit status, and a whole run through a pseudo-terminal and
//! the serial port's library. The board at the other end is the simulated one.

use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use bobweight::quantity::Voltage;
use bobweight_bench::result::BenchResult;
use bobweight_bench::sheet::{self, Settings};
use bobweight_bench::source::simulated::{CoreIgnition, Imperfections, SimulatedBench, serve};
use bobweight_bench::verdict::Verdict;

fn demo() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("demo/fire-float.toml")
}

fn bench(sheet: &Path, options: &[&str]) -> (i32, String, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_bobweight")).arg("bench").arg(sheet).args(options).output().unwrap();
    let Output { status, stdout, stderr } = output;
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (status.code().unwrap(), text(stdout), text(stderr))
}

#[test]
fn the_demo_passes_and_says_what_it_did_not_prove() {
    let (exit, out, err) = bench(&demo(), &[]);
    assert_eq!((exit, err.as_str()), (0, ""), "{out}");
    assert!(out.contains("verdict: pass   78 of 78 test points passed"), "{out}");
    assert!(out.contains("it does not prove pickup, rotor, coil, leads"), "{out}");
    assert!(!out.contains('\x1b'), "a pipe gets no colours");
}

#[test]
fn a_lag_fails_and_is_named_in_words() {
    let (exit, out, _) = bench(&demo(), &["--simulate", "lag=150 us"]);
    assert_eq!(exit, 1);
    assert!(out.contains("later with speed: a lag of 1"), "{out}");
}

#[test]
fn a_sheet_that_breaks_its_limits_drives_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("sheet.toml");
    // The total would never leave the limits, for the clamp holds it; the sum does.
    let text = std::fs::read_to_string(demo()).unwrap().replacen("greatest = \"42", "greatest = \"37", 1);
    std::fs::write(&path, text).unwrap();
    std::fs::copy(demo().with_file_name("fire-float-readings.csv"), folder.path().join("fire-float-readings.csv"))
        .unwrap();
    let (exit, out, _) = bench(&path, &[]);
    assert_eq!(exit, 1);
    assert!(out.contains("BROKEN: greatest, at most 37") && out.contains("nothing was driven"), "{out}");
    assert!(out.contains("0 of 0 test points passed"), "{out}");
}

#[test]
fn a_result_that_cannot_be_written_is_told_before_the_work() {
    let (exit, out, err) = bench(&demo(), &["--json", "/no-such-folder/result.json"]);
    assert_eq!((exit, out.as_str()), (4, ""));
    assert!(err.contains("/no-such-folder/result.json"), "{err}");
}

#[test]
fn a_result_on_standard_output_is_alone_there() {
    let (exit, out, err) = bench(&demo(), &["--json", "-"]);
    assert_eq!(exit, 0);
    assert_eq!(BenchResult::from_json(&out).unwrap().verdict, Verdict::Pass);
    assert!(err.contains("verdict: pass"), "{err}");
}

#[test]
fn hardware_needs_the_cautions_and_a_port_that_is_there() {
    let (exit, out, err) = bench(&demo(), &["--serial", "/dev/no-such-port"]);
    assert_eq!((exit, out.as_str()), (2, ""));
    assert!(err.contains("--acknowledge-cautions"), "{err}");
    let (exit, _, err) = bench(&demo(), &["--serial", "/dev/no-such-port", "--acknowledge-cautions"]);
    assert_eq!(exit, 3, "{err}");
    assert!(err.contains("/dev/no-such-port"), "{err}");
}

/// A cable to the simulated board, which may be cut or disturbed after so many bytes from the board.
#[cfg(unix)]
struct Cable {
    port: serialport::TTYPort,
    carried: usize,
    cut_after: usize,
    disturbed_at: usize,
}

#[cfg(unix)]
impl Read for Cable {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        if self.carried > self.cut_after { Ok(0) } else { self.port.read(buffer) }
    }
}

#[cfg(unix)]
impl Write for Cable {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        let noise = self.carried < self.disturbed_at && self.carried + bytes.len() >= self.disturbed_at;
        self.carried += bytes.len();
        if self.carried > self.cut_after {
            return Err(std::io::ErrorKind::BrokenPipe.into());
        }
        let mut carried = bytes.to_vec();
        if noise {
            let middle = carried.len() / 2;
            carried[middle] ^= 0x10;
        }
        self.port.write_all(&carried)?;
        Ok(bytes.len())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        self.port.flush()
    }
}

/// Runs the command against the simulated board behind a pseudo-terminal; gives what it printed and what it saved.
#[cfg(unix)]
fn bench_by_serial(cut_after: usize, disturbed_at: usize) -> (i32, String, String, BenchResult) {
    use serialport::{SerialPort, TTYPort};
    let (mut board, host) = TTYPort::pair().unwrap();
    board.set_timeout(std::time::Duration::from_millis(1)).unwrap();
    let path = host.name().unwrap();
    let board = std::thread::spawn(move || {
        let settings = Settings::from_sheet(&sheet::read(&demo()).unwrap()).unwrap();
        let battery = Voltage::from_bits(13 << 8).unwrap();
        let ignition = CoreIgnition::new(&settings.timetable, settings.firmware, battery);
        let mut cable = Cable { port: board, carried: 0, cut_after, disturbed_at };
        // Ends with an error when the other end is closed.
        let _ = serve(SimulatedBench::new(ignition, Imperfections::default(), 3), &mut cable);
    });
    let folder = tempfile::tempdir().unwrap();
    let saved = folder.path().join("result.json");
    let options = ["--serial", &path, "--acknowledge-cautions", "--json", saved.to_str().unwrap()];
    let (exit, out, err) = bench(&demo(), &options);
    // Held open until here: a pseudo-terminal without its other end is gone.
    drop(host);
    board.join().unwrap();
    let result = std::fs::read_to_string(saved).unwrap_or_else(|error| panic!("{error}: exit {exit}\n{out}\n{err}"));
    let result = BenchResult::from_json(&result).unwrap();
    (exit, out, err, result)
}

#[cfg(unix)]
#[test]
fn a_whole_run_by_serial_port_passes() {
    let (exit, out, err, result) = bench_by_serial(usize::MAX, usize::MAX);
    assert_eq!(exit, 0, "{out}{err}");
    assert!(err.contains("stop a heart"), "the cautions come first: {err}");
    assert_eq!((result.verdict, result.test_points.len()), (Verdict::Pass, 78));
}

#[cfg(unix)]
#[test]
fn a_cable_pulled_in_the_middle_keeps_what_was_measured_and_says_what_to_do() {
    let (exit, out, err, result) = bench_by_serial(100_000, usize::MAX);
    assert_eq!(exit, 3, "{out}{err}");
    assert!(
        !result.test_points.is_empty() && result.test_points.len() < 78,
        "{} test points",
        result.test_points.len()
    );
    assert!(result.broken_off.is_some() && result.verdict == Verdict::Undecided, "{:?}", result.verdict);
    assert!(err.contains("look at the cable") && err.contains("run the bench again"), "{err}");
}

/// One byte from the board is changed: its frame does not pass, and no figure is made of it.
#[cfg(unix)]
#[test]
fn noise_on_the_line_is_told_and_makes_no_wrong_figure() {
    let (exit, out, err, result) = bench_by_serial(usize::MAX, 60_000);
    assert_eq!(exit, 3, "{out}{err}");
    assert!(result.broken_off.is_some(), "{out}");
    assert!(result.test_points.iter().all(|point| point.verdict == Verdict::Pass), "{out}");
}
