use crate::cli::exit::Exit;
use crate::cli::tests::{Ran, bobweight};
use crate::curve::export::Export;
use crate::sheet::tests::{demo_text, reluctor_text};
use bobweight::image::EngineSettings;
use bobweight::store::{ByteStore, Slot, Slots, StoreError};

fn export(text: &str, options: &[&str]) -> (tempfile::TempDir, Ran) {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("sheet.toml");
    std::fs::write(&path, text).expect("a sheet");
    let out = folder.path().join("out").display().to_string();
    let path = path.display().to_string();
    let arguments: Vec<&str> = ["export", &path, "--out", &out].into_iter().chain(options.iter().copied()).collect();
    let ran = bobweight(folder.path(), &arguments);
    (folder, ran)
}

fn written(folder: &tempfile::TempDir) -> Vec<u8> {
    std::fs::read(folder.path().join("out")).expect("it was written")
}

fn demo() -> Export {
    Export::new(crate::sheet::parse("fire-float.toml", demo_text()).unwrap()).unwrap()
}

#[test]
fn the_image_is_what_the_sheet_says() {
    let (folder, ran) = export(demo_text(), &["--as", "image"]);
    assert_eq!((ran.exit, ran.out.as_str(), ran.err.as_str()), (Exit::Pass, "", ""));
    let settings = EngineSettings::decode(&written(&folder)).unwrap();
    assert_eq!(settings, *demo().engine());
    assert_eq!(settings.model, demo().settings().model);
    assert!(settings.sensor.is_some() && !settings.timing_flank_rises);
}

/// A store as a programmer of EEPROMs leaves it.
struct Programmed([u8; 1024]);

impl ByteStore for Programmed {
    fn read(&mut self, address: usize) -> u8 {
        self.0[address]
    }

    fn write(&mut self, address: usize, _: u8) -> Result<(), StoreError> {
        Err(StoreError::NotKept { address })
    }
}

/// Whatever was in the store before: what was programmed is what the ignition takes.
#[test]
fn an_ignition_takes_what_was_programmed_into_its_store() {
    let (folder, ran) = export(demo_text(), &["--as", "intel-hex"]);
    assert_eq!(ran.exit, Exit::Pass, "{}", ran.err);
    let text = String::from_utf8(written(&folder)).unwrap();
    let mut store = Programmed([0xff; 1024]);
    let image = demo().image().unwrap();
    // A newer curve of the board's own, in the other slot.
    store.0[Slot::Two.address()..][..image.len()].copy_from_slice(&image);
    let checksum = u32::from_le_bytes(*image.last_chunk().unwrap());
    store.0[Slot::Two.commitment_address()..][..6].copy_from_slice(&bobweight::store::commitment(checksum, 7));
    assert_eq!(Slots::open(&mut store).0.in_use().unwrap().slot, Slot::Two);
    for record in ihex::Reader::new(&text) {
        if let ihex::Record::Data { offset, value } = record.unwrap() {
            store.0[usize::from(offset)..][..value.len()].copy_from_slice(&value);
        }
    }
    let (slots, settings) = Slots::open(&mut store);
    assert_eq!(settings, Some(*demo().engine()));
    assert_eq!(slots.in_use().unwrap().slot, Slot::One);
}

/// A message without the places where it wraps.
fn words(text: &str) -> String {
    text.replace('│', " ").split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_curve_that_breaks_its_limits_is_not_handed_out() {
    let broken = demo_text().replace("greatest = \"42 crank degrees\"", "greatest = \"30 crank degrees\"");
    assert_ne!(broken, demo_text());
    for format in ["image", "intel-hex", "rust", "c"] {
        let (folder, ran) = export(&broken, &["--as", format]);
        assert_eq!(ran.exit, Exit::Fail, "{format}");
        assert!(words(&ran.err).contains("so it is not handed out"), "{}", ran.err);
        assert!(!folder.path().join("out").exists());
    }
}

/// What the crate's ignition takes is carried whole; a header for firmware with rules of its own is refused, not handed out short.
#[test]
fn a_pickup_with_rules_of_its_own_is_carried_or_refused() {
    let of = |text: &str| Export::new(crate::sheet::parse("engine.toml", text).unwrap()).unwrap();
    let reluctor = of(&reluctor_text());
    let settings = EngineSettings::decode(&reluctor.image().unwrap()).unwrap();
    assert_eq!(settings, *reluctor.engine());
    assert!(settings.pickup.settings().moving_flank.is_some() && settings.image_version() == 2);
    assert!(
        reluctor.rust().contains("moving_flank: Some(MovingFlank { earliest: must!(CrankAngle::from_bits(1179648))")
    );
    assert_eq!(reluctor.c().unwrap_err().key(), Some("pickup.moving_flank"));
    let points = demo_text().replace("kind = \"vane\"", "kind = \"points\"\nbounce = \"0.5 ms\"");
    assert_eq!(of(&points).c().unwrap_err().key(), Some("pickup.bounce"));
}

#[test]
fn a_table_has_the_grid_that_was_asked_for() {
    let options =
        ["--as", "csv", "--speeds", "300..5000 crank rpm by 1000", "--depressions", "0..12 inHg depression by 12"];
    let (folder, ran) = export(demo_text(), &options);
    assert_eq!(ran.exit, Exit::Pass, "{}", ran.err);
    let text = String::from_utf8(written(&folder)).unwrap();
    let rows: Vec<&str> = text.lines().filter(|line| !line.starts_with('#')).collect();
    // Sums by hand: initial 8; 12 at 1700 and 20 at 3300 crank rpm; the vacuum unit's whole 10 at 12 inHg.
    let expected = [
        "crank_rpm,0 inHg depression,12 inHg depression",
        "300,8.000,8.000",
        "1300,14.000,24.000",
        "2300,23.000,33.000",
        "3300,28.000,38.000",
        "4300,28.000,38.000",
        "5000,,",
    ];
    assert_eq!(rows, expected, "{text}");
}

#[test]
fn a_name_cannot_end_the_comment_that_it_stands_in() {
    let named = demo_text().replacen("name = \"", "name = \"*/ int x; // \\n", 1);
    let (folder, ran) = export(&named, &["--as", "c"]);
    assert_eq!(ran.exit, Exit::Pass, "{}", ran.err);
    let text = String::from_utf8(written(&folder)).unwrap();
    let origin = text.lines().nth(1).unwrap();
    assert_eq!(origin, " * Engine: * / int x; // _pump engine of the fire float");
}
