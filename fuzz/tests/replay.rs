//! Every file of the corpora through its target, on a stable compiler.

use bobweight_fuzz::TARGETS;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

fn folder(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(name)
}

fn names(folder: &Path) -> BTreeSet<String> {
    let entries = fs::read_dir(folder).unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
    entries.map(|entry| entry.unwrap().path().file_stem().unwrap().to_string_lossy().into_owned()).collect()
}

#[track_caller]
fn replay(target: &str) {
    let (_, body) = TARGETS.iter().find(|(name, _)| *name == target).expect("a target of this name");
    let mut files: Vec<_> =
        fs::read_dir(folder("corpus").join(target)).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    assert!(files.len() >= 5, "{target} has only {} seeds", files.len());
    for file in files {
        // On a failure this is the last line that the test prints.
        println!("{}", file.display());
        body(&fs::read(&file).unwrap());
    }
}

#[test]
fn wire_frames_keep_their_laws() {
    replay("wire_frames");
}

#[test]
fn images_keep_their_laws() {
    replay("image");
}

#[test]
fn dumps_keep_their_laws() {
    replay("trace_vcd");
}

#[test]
fn tables_keep_their_laws() {
    replay("trace_csv");
}

#[test]
fn sheets_keep_their_laws() {
    replay("sheet");
}

#[test]
fn readings_keep_their_laws() {
    replay("readings");
}

#[test]
fn quantities_keep_their_laws() {
    replay("quantity");
}

#[test]
fn light_readings_keep_their_laws() {
    replay("light_readings");
}

#[test]
fn answers_keep_their_laws() {
    replay("answers");
}

#[test]
fn trials_keep_their_laws() {
    replay("trials");
}

#[test]
fn the_sequencer_keeps_its_laws() {
    replay("sequencer");
}

#[test]
fn every_target_has_its_corpus_and_its_program() {
    let targets: BTreeSet<_> = TARGETS.iter().map(|(name, _)| (*name).to_owned()).collect();
    assert_eq!(names(&folder("corpus")), targets);
    assert_eq!(names(&folder("fuzz_targets")), targets);
}
