//! The built program, run as a user runs it.

use crate::demo::{home, job_text};
use assert_cmd::Command;
use std::{collections::BTreeMap, fs, io::Write, path::Path};

pub fn bradawl(folder: &Path) -> Command {
    let mut command = Command::cargo_bin("bradawl").expect("the program is built");
    command.current_dir(folder).env("NO_COLOR", "1");
    command
}

/// An empty folder, and machines beside it.
pub fn workshop() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    fs::create_dir(folder.path().join("machines")).expect("a folder");
    for entry in fs::read_dir(home().join("machines")).expect("machines") {
        let path = entry.expect("readable").path();
        if path.extension().is_some_and(|e| e == "toml") {
            fs::copy(&path, folder.path().join("machines").join(path.file_name().expect("a name")))
                .expect("copied");
        }
    }
    folder
}

pub fn with_job(text: &str) -> tempfile::TempDir {
    let folder = workshop();
    fs::write(folder.path().join("trial.toml"), text).expect("written");
    folder
}

/// Every file below a folder, by name.
pub fn contents(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let Ok(entries) = fs::read_dir(folder) else { return BTreeMap::new() };
    entries
        .map(|entry| entry.expect("readable").path())
        .map(|path| {
            (
                path.file_name().expect("a name").to_string_lossy().into_owned(),
                fs::read(&path).expect("readable"),
            )
        })
        .collect()
}

#[test]
fn make_makes_the_same_test_bay_as_the_command_for_it() {
    let folder = with_job(&job_text(&[]));
    let out = folder.path().join("out");
    bradawl(folder.path()).args(["make", "trial.toml", "--test-bay"]).assert().code(0);
    let along = contents(&out.join("trial-test-bay"));
    assert!(along.contains_key("less-fabric.nc") && along.contains_key("more-board.nc"));
    fs::remove_dir_all(&out).expect("removed");
    bradawl(folder.path()).args(["test-bay", "trial.toml"]).assert().code(0);
    assert_eq!(along, contents(&out.join("trial-test-bay")));
}

#[test]
fn make_writes_every_file_of_the_contract_and_nothing_else() {
    let folder = with_job(&job_text(&[]));
    bradawl(folder.path()).args(["make", "trial.toml"]).assert().code(0);
    let names: Vec<String> = contents(&folder.path().join("out/trial")).into_keys().collect();
    assert_eq!(
        names,
        [
            "board.dxf",
            "board.nc",
            "checksums.sha256",
            "fabric.dxf",
            "fabric.nc",
            "foam.dxf",
            "foam.nc",
            "preview.html",
            "report.json",
            "sheet.html",
            "sheet.pdf"
        ]
    );
}

#[test]
fn the_same_job_makes_the_same_bytes_anywhere() {
    let folder = with_job(&job_text(&[("title", "\"Trial, for the café\"")]));
    let away = tempfile::tempdir().expect("a folder");
    bradawl(folder.path()).args(["make", "trial.toml", "--out", "one"]).assert().code(0);
    bradawl(away.path())
        .args(["make", "--quiet", "--out", "two"])
        .arg(folder.path().join("trial.toml"))
        .env("TZ", "Pacific/Apia")
        .env("LC_ALL", "de_DE.UTF-8")
        .env("LANG", "tr_TR.UTF-8")
        .env("HOME", "/nowhere")
        .assert()
        .code(0);
    let (one, two) = (contents(&folder.path().join("one")), contents(&away.path().join("two")));
    assert_eq!(one.keys().collect::<Vec<_>>(), two.keys().collect::<Vec<_>>());
    for (name, bytes) in &one {
        assert!(bytes == &two[name], "{name} differs");
    }
}

#[test]
fn only_what_was_asked_for_is_made_and_nothing_stale_is_left() {
    let folder = with_job(&job_text(&[]));
    bradawl(folder.path()).args(["make", "trial.toml"]).assert().code(0);
    let out = folder.path().join("out/trial");
    let mut sums = fs::read_to_string(out.join("checksums.sha256")).expect("a listing");
    sums += "e7b8bc3658ca4195e727c9a46ec3214884dfe322d4090fc5591bbbbb754491ef  board-2.nc\n";
    fs::write(out.join("checksums.sha256"), sums).expect("written");
    fs::write(out.join("board-2.nc"), "of an earlier run").expect("written");
    fs::write(out.join("my notes.txt"), "mine").expect("written");
    bradawl(folder.path()).args(["make", "trial.toml", "--only", "board"]).assert().code(0);
    let files = contents(&out);
    assert!(
        files.contains_key("board.nc") && files.contains_key("foam.nc"),
        "foam of before is as it was"
    );
    assert!(!files.contains_key("board-2.nc"), "a program of a set-up that is no more is gone");
    assert!(files.contains_key("my notes.txt"));
}

#[test]
fn a_refused_job_leaves_the_output_folder_as_it_was() {
    let folder = with_job(&job_text(&[("board", "[board]\nthicknes = 12\nhole = 8")]));
    let assert = bradawl(folder.path()).args(["make", "trial.toml"]).assert().code(1);
    let said = String::from_utf8_lossy(&assert.get_output().stderr).into_owned();
    assert!(said.contains("did you mean `thickness`?"), "{said}");
    assert!(!folder.path().join("out").exists(), "nothing was written");
}

/// Whole messages about the machines that a job names.
#[test]
fn machines_that_do_not_suit_are_refused_with_the_reason() {
    let on = |board: &str, foam: &str, fabric: &str| {
        format!("[on]\nboard = \"{board}\"\nfoam = \"{foam}\"\nfabric = \"{fabric}\"")
    };
    let cases = [
        (
            "an_unknown_machine",
            job_text(&[("on", &on("bench-ruoter", "bench-router", "roll-plotter"))]),
        ),
        (
            "a_machine_without_what_the_work_needs",
            job_text(&[("on", &on("roll-plotter", "trim-router", "bench-router"))]),
        ),
        (
            "a_work_larger_than_the_bed",
            job_text(&[("panel", "[panel.rectangle]\nwidth = \"5000 mm\"\nheight = \"900 mm\"")]),
        ),
        (
            "a_hole_smaller_than_every_bit",
            job_text(&[("board", "[board]\nthickness = 12\nhole = 4")]),
        ),
        ("a_hole_no_bit_bores", job_text(&[("board", "[board]\nthickness = 12\nhole = 20")])),
        (
            "a_board_thicker_than_the_reach",
            job_text(&[("board", "[board]\nthickness = 65\nhole = 8")]),
        ),
    ];
    for (name, text) in cases {
        let folder = with_job(&text);
        let assert = bradawl(folder.path()).args(["make", "trial.toml"]).assert().code(1);
        insta::assert_snapshot!(name, String::from_utf8_lossy(&assert.get_output().stderr));
        assert!(!folder.path().join("out").exists(), "{name}: nothing was written");
    }
}

#[test]
fn what_cannot_run_ends_with_two_and_a_sentence() {
    let folder = with_job(&job_text(&[]));
    fs::write(folder.path().join("a file"), "").expect("written");
    fs::write(folder.path().join("binary.toml"), [0xff, 0xfe, 0x00]).expect("written");
    let cases: [(&[&str], &str); 12] = [
        (&["make", "trial.toml", "--out", "a file/within"], "cannot write to a file/within"),
        (&["make", "nowhere.toml"], "cannot read nowhere.toml"),
        (&["make", "binary.toml"], "binary.toml is not text"),
        (&["make", "trial.toml", "--machines", "nowhere"], "nowhere is not a folder"),
        (&["dry-run", "trial.toml", "--machine", "none"], "there is no machine file `none.toml`"),
        (&["make", "trial.toml", "--only", "glass"], "glass"),
        (
            &["dry-run", "trial.toml", "--machine", "bench-ruoter"],
            "did you mean `bench-router`? there are: bench-router",
        ),
        (&["dry-run", "machines", "--machine", "bench-router"], "machines is a folder"),
        (
            &["dry-run", "trial.toml", "--machine", "bench-router", "--trace", "no/where.csv"],
            "cannot write the trace",
        ),
        (&["machines", "--machines", "empty"], "no machine files were found here"),
        (&["order", "trial.toml", "--cost", "money"], "`money` is neither distance, nint, nor"),
        (&["man", "a file"], "cannot write to a file"),
    ];
    fs::create_dir(folder.path().join("empty")).expect("a folder");
    for (args, expected) in cases {
        let assert = bradawl(folder.path()).args(args).assert().code(2);
        let said = String::from_utf8_lossy(&assert.get_output().stderr).into_owned();
        assert!(said.contains(expected), "{args:?}: {said}");
    }
    assert!(!folder.path().join("out").exists());
}

#[test]
fn every_program_that_was_made_passes_the_dry_run_by_hand() {
    let folder = with_job(&job_text(&[]));
    bradawl(folder.path()).args(["make", "trial.toml"]).assert().code(0);
    for (file, machine) in
        [("board", "bench-router"), ("foam", "bench-router"), ("fabric", "roll-plotter")]
    {
        let program = format!("out/trial/{file}.nc");
        let assert = bradawl(folder.path())
            .args(["dry-run", &program, "--machine", machine, "--json", "--trace", "trace.csv"])
            .assert()
            .code(0);
        let facts: serde_json::Value =
            serde_json::from_slice(&assert.get_output().stdout).expect("JSON");
        assert_eq!(facts["faults"], serde_json::json!([]));
        let report: serde_json::Value = serde_json::from_slice(
            &fs::read(folder.path().join("out/trial/report.json")).expect("a report"),
        )
        .expect("JSON");
        let buttons = report["layout"]["buttons"].as_array().expect("buttons").len();
        let (holes, strokes) = (
            facts["holes_mm"].as_array().expect("holes").len(),
            facts["strokes"].as_u64().expect("a count"),
        );
        match file {
            "fabric" => assert!(holes == 0 && strokes as usize >= 2 * buttons, "{holes} {strokes}"),
            _ => assert!(holes == buttons && strokes == 0, "{holes} {strokes}"),
        }
        let trace = fs::read_to_string(folder.path().join("trace.csv")).expect("a trace");
        let mut rows = trace.lines();
        assert_eq!(rows.next(), Some("line,kind,x_mm,y_mm,z_mm,feed_mm_per_min,seconds"));
        assert!(rows.count() > buttons);
    }
}

#[test]
fn a_file_that_is_no_program_is_said_to_be_none() {
    let folder = workshop();
    let path = folder.path().join("trial.nc");
    let run = || {
        let assert = bradawl(folder.path())
            .args(["dry-run", "trial.nc", "--machine", "bench-router"])
            .assert();
        let output = assert.get_output().clone();
        (output.status.code(), String::from_utf8_lossy(&output.stderr).into_owned())
    };
    let cases: [(&str, &[u8]); 4] = [
        ("empty", b""),
        ("binary", &[0x7f, b'E', b'L', b'F', 0, 1, 2, 0xff, 0xfe]),
        ("cut off within a word", b"G21 G90 G17 G94 G54\nG0 Z10\nG0 X1"),
        ("cut off within a comment", b"G21 G90\nG0 Z10\n(no end"),
    ];
    for (name, bytes) in cases {
        fs::write(&path, bytes).expect("written");
        let (code, said) = run();
        assert_eq!(code, Some(1), "{name}: {said}");
        assert!(said.contains("trial.nc:"), "{name}: {said}");
    }
}

/// A hundred megabytes are read like anything else.
#[test]
#[ignore = "takes seconds ; run by tests/outside.sh"]
fn a_program_of_a_hundred_megabytes_is_read_whole() {
    let folder = workshop();
    let path = folder.path().join("trial.nc");
    let mut file = std::io::BufWriter::new(fs::File::create(&path).expect("a file"));
    writeln!(file, "G21 G17 G90 G94 G54\nG0 Z30.000").expect("written");
    for i in 0..5_000_000 {
        writeln!(file, "G0 X{}.000 Y{}.000", 100 + i % 400, 100 + i / 400 % 400).expect("written");
    }
    writeln!(file, "G0 X0.000 Y0.000\nM2").expect("written");
    file.flush().expect("written");
    drop(file);
    assert!(fs::metadata(&path).expect("there").len() > 95_000_000);
    let typed = "dry-run trial.nc --machine bench-router --work 800x500x12";
    let assert = bradawl(folder.path()).args(typed.split(' ')).assert().code(0);
    let said = String::from_utf8_lossy(&assert.get_output().stderr).into_owned();
    assert_eq!(said, "", "no progress where nobody looks");
}

#[test]
fn machines_lists_good_and_broken_files() {
    let folder = workshop();
    bradawl(folder.path()).arg("machines").assert().code(0);
    fs::write(folder.path().join("machines/broken.toml"), "title = 3").expect("written");
    let assert = bradawl(folder.path()).arg("machines").assert().code(1);
    let out = String::from_utf8_lossy(&assert.get_output().stdout).into_owned();
    assert!(
        out.contains("bench-router") && out.contains("broken           cannot be used"),
        "{out}"
    );
    // A broken file that a job does not name stops nothing.
    fs::write(folder.path().join("trial.toml"), job_text(&[])).expect("written");
    bradawl(folder.path()).args(["make", "trial.toml"]).assert().code(0);
}

#[test]
fn layout_shows_the_fit_and_its_neighbours() {
    let folder = with_job(&job_text(&[]));
    let assert = bradawl(folder.path()).args(["layout", "trial.toml"]).assert().code(0);
    insta::assert_snapshot!(
        "layout_of_a_small_panel",
        String::from_utf8_lossy(&assert.get_output().stdout)
    );
    assert!(!folder.path().join("out").exists(), "layout writes nothing");
}

#[test]
fn layout_draws_over_its_own_picture_and_nothing_else() {
    let folder = with_job(&job_text(&[]));
    let draw =
        |to: &str| bradawl(folder.path()).args(["layout", "trial.toml", "--svg", to]).assert();
    draw("panel.svg").code(0);
    let drawn = fs::read_to_string(folder.path().join("panel.svg")).expect("drawn");
    let wider = job_text(&[]).replacen("720", "740", 1);
    fs::write(folder.path().join("trial.toml"), wider).expect("written");
    draw("panel.svg").code(0);
    assert_ne!(drawn, fs::read_to_string(folder.path().join("panel.svg")).expect("drawn"));
    // A job file, and somebody else's drawing.
    let theirs = "<svg xmlns=\"http://www.w3.org/2000/svg\"/>";
    fs::write(folder.path().join("theirs.svg"), theirs).expect("written");
    draw("trial.toml").code(2);
    draw("theirs.svg").code(2);
    assert_eq!(fs::read_to_string(folder.path().join("theirs.svg")).expect("kept"), theirs);
}

#[test]
fn make_says_what_matters_on_one_screen() {
    let folder = with_job(&job_text(&[]));
    let assert = bradawl(folder.path()).args(["make", "trial.toml"]).assert().code(0);
    insta::assert_snapshot!(
        "make_of_a_small_panel",
        String::from_utf8_lossy(&assert.get_output().stdout)
    );
}
