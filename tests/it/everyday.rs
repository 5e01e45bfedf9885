//! Everyday comfort: several jobs at once, a person's own files kept, making again on saving, colour and
//! progress only where somebody sees them.

use crate::{
    cli::{bradawl, contents, with_job, workshop},
    demo::job_text,
    import,
    terminal::Terminal,
};
use serde_json::Value;
use std::{
    fs,
    io::Read,
    process::{Command, Stdio},
    thread,
    time::Duration,
};

/// Three jobs and a bad one.
fn with_jobs() -> tempfile::TempDir {
    let folder = workshop();
    let wide = job_text(&[("panel", "[panel.rectangle]\nwidth = 700\nheight = 400")]);
    let square = job_text(&[("pattern", "[pattern.square]\nwidth = 150\nheight = 150\nedge = 90")]);
    let bad = job_text(&[("board", "[board]\nthicknes = 12\nhole = 8")]);
    for (name, text) in [("a", job_text(&[])), ("b", wide), ("bad", bad), ("c", square)] {
        fs::write(folder.path().join(format!("{name}.toml")), text).expect("written");
    }
    folder
}

#[test]
fn several_jobs_at_once_are_what_each_is_alone_and_a_bad_one_stops_none() {
    let folder = with_jobs();
    for job in ["a", "b", "c"] {
        let out = format!("alone/{job}");
        bradawl(folder.path())
            .args(["make", &format!("{job}.toml"), "--out", &out])
            .assert()
            .code(0);
    }
    let jobs = ["make", "a.toml", "bad.toml", "b.toml", "nowhere.toml", "c.toml"];
    let assert = bradawl(folder.path()).args(jobs).assert().code(2);
    let output = assert.get_output();
    insta::assert_snapshot!("several_jobs_summary", String::from_utf8_lossy(&output.stdout));
    insta::assert_snapshot!("several_jobs_errors", String::from_utf8_lossy(&output.stderr));
    for job in ["a", "b", "c"] {
        let [alone, together] =
            ["alone", "out"].map(|out| contents(&folder.path().join(out).join(job)));
        assert!(alone.len() > 8 && alone == together, "{job}");
    }
    assert!(!folder.path().join("out/bad").exists(), "nothing of the bad one");
    bradawl(folder.path()).args(["make", "a.toml", "bad.toml", "--out", "both"]).assert().code(1);
    assert!(folder.path().join("both/a/board.nc").exists());

    let assert =
        bradawl(folder.path()).args(["make", "--json", "a.toml", "bad.toml"]).assert().code(1);
    let facts: Value = serde_json::from_slice(&assert.get_output().stdout).expect("JSON");
    assert_eq!(facts[0]["report"]["layout"]["rows"], serde_json::json!([6, 5, 6, 5]));
    assert_eq!((&facts[0]["made"], &facts[1]["made"]), (&Value::Bool(true), &Value::Bool(false)));

    let assert = bradawl(folder.path()).args(["make", "--json", "bad.toml"]).assert().code(1);
    let output = assert.get_output();
    let alone: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert_eq!(alone, facts[1], "one job is refused as among others");
    let why = alone["why"].as_str().expect("a reason");
    assert_eq!(why, String::from_utf8_lossy(&output.stderr), "a script learns what a person does");
    assert!(why.contains("error") && !why.contains('\u{1b}'), "{why}");
}

#[test]
fn two_jobs_for_one_folder_are_refused() {
    let folder = with_jobs();
    fs::create_dir(folder.path().join("other")).expect("a folder");
    fs::copy(folder.path().join("b.toml"), folder.path().join("other/a.toml")).expect("copied");
    let assert = bradawl(folder.path()).args(["make", "a.toml", "other/a.toml"]).assert().code(2);
    let said = String::from_utf8_lossy(&assert.get_output().stderr).into_owned();
    assert!(said.contains("a.toml and other/a.toml would both be written to out/a"), "{said}");
    assert!(!folder.path().join("out").exists());
}

#[test]
fn what_a_person_changed_is_kept_until_they_say_otherwise() {
    let folder = with_job(&job_text(&[]));
    let out = folder.path().join("out/trial");
    let make = |args: &[&str]| {
        let assert = bradawl(folder.path()).args(["make", "trial.toml"]).args(args).assert();
        let output = assert.get_output();
        (output.status.code(), String::from_utf8_lossy(&output.stderr).into_owned())
    };
    assert_eq!(make(&[]).0, Some(0));
    let first = contents(&out);
    assert_eq!(make(&[]).0, Some(0), "what bradawl wrote it may write over");
    assert_eq!(contents(&out), first);

    // A change by hand, a file of the person's own with a name of ours, and another job.
    let mut board = first["board.nc"].clone();
    board.extend(b"(slower next time)\n");
    fs::write(out.join("board.nc"), &board).expect("written");
    fs::write(out.join("foam-2.nc"), "by hand").expect("written");
    fs::write(out.join("notes.txt"), "mine").expect("written");
    let other = job_text(&[("panel", "[panel.rectangle]\nwidth = 700\nheight = 400")]);
    fs::write(folder.path().join("trial.toml"), other).expect("written");
    let before = contents(&out);
    let (code, said) = make(&[]);
    assert_eq!(code, Some(1));
    insta::assert_snapshot!("files_of_your_own", said);
    assert_eq!(contents(&out), before, "the folder is exactly as it was");

    // Only what is at stake counts: the board is not touched by a foam.
    fs::remove_file(out.join("foam-2.nc")).expect("removed");
    assert_eq!(make(&["--only", "foam"]).0, Some(0));
    assert_eq!(contents(&out)["board.nc"], board);
    assert_eq!(make(&[]).0, Some(1), "the change is still known");

    assert_eq!(make(&["--replace"]).0, Some(0));
    let after = contents(&out);
    assert!(after["board.nc"] != board && after["notes.txt"] == b"mine");
    assert_eq!(make(&[]).0, Some(0));

    // Without its listing, nothing in the folder is known to be ours, except what would not change.
    fs::remove_file(out.join("checksums.sha256")).expect("removed");
    assert_eq!(make(&[]).0, Some(0), "the same bytes are no loss");
    fs::remove_file(out.join("checksums.sha256")).expect("removed");
    fs::write(folder.path().join("trial.toml"), job_text(&[])).expect("written");
    let (code, said) = make(&[]);
    assert!(code == Some(1) && said.contains("board.nc was not made by bradawl"), "{said}");
}

/// The listing is in the form that common tools read.
#[test]
fn the_checksums_are_those_of_the_files() {
    let folder = with_job(&job_text(&[]));
    bradawl(folder.path()).args(["make", "trial.toml"]).assert().code(0);
    let out = folder.path().join("out/trial");
    let text = fs::read_to_string(out.join("checksums.sha256")).expect("a listing");
    assert_eq!(text.lines().count(), contents(&out).len() - 1);
    let Ok(checked) =
        Command::new("sha256sum").args(["-c", "checksums.sha256"]).current_dir(&out).output()
    else {
        return; // not on this machine; the count above holds all the same
    };
    assert!(checked.status.success(), "{}", String::from_utf8_lossy(&checked.stdout));
}

/// Waits until `true`, and not for ever.
fn soon(what: &str, mut is: impl FnMut() -> bool) {
    for _ in 0..600 {
        if is() {
            return;
        }
        thread::sleep(Duration::from_millis(100));
    }
    panic!("{what} did not happen within a minute");
}

#[test]
fn watching_makes_it_again_when_a_file_is_saved() {
    let folder = with_job(&job_text(&[]));
    let mut watching = Command::new(assert_cmd::cargo::cargo_bin("bradawl"))
        .current_dir(folder.path())
        .args(["make", "trial.toml", "--watch"])
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .expect("started");
    let board = || fs::read_to_string(folder.path().join("out/trial/board.nc")).unwrap_or_default();
    soon("the first making", || !board().is_empty());
    thread::sleep(Duration::from_millis(500));
    let first = board();
    // A mistake is said and changes nothing; the next saving is taken up.
    let save = |file: &str, text: &str| fs::write(folder.path().join(file), text).expect("saved");
    save("trial.toml", "title =");
    thread::sleep(Duration::from_millis(1500));
    assert_eq!(board(), first);
    save("trial.toml", &job_text(&[("panel", "[panel.rectangle]\nwidth = 700\nheight = 400")]));
    soon("the second making", || board().contains("work 700 x 400"));
    // A machine file counts as well.
    let machine =
        fs::read_to_string(folder.path().join("machines/bench-router.toml")).expect("there");
    save("machines/bench-router.toml", &machine.replace("feed     = 300 ", "feed     = 250 "));
    soon("the third making", || board().contains("F250"));
    // And a drawing that the job names.
    save("old.dxf", &import::drawing(4, &import::stadium()));
    let drawn = "[panel.drawing]\nfile = \"old.dxf\"\nunits = \"mm\"";
    save("trial.toml", &job_text(&[("panel", drawn)]));
    soon("the fourth making", || board().contains("work 800 x 400"));
    let narrower = import::drawing(4, &import::stadium()).replace("\n600\n", "\n550\n");
    save("old.dxf", &narrower);
    soon("the fifth making", || board().contains("work 750 x 400"));
    watching.kill().expect("stopped");
    watching.wait().expect("ended");
    let mut said = String::new();
    watching.stderr.take().expect("piped").read_to_string(&mut said).expect("text");
    assert!(said.contains("this cannot be read as TOML"), "{said}");
}

#[test]
fn colour_is_only_for_a_terminal_and_only_where_it_is_wanted() {
    let folder = with_job(&job_text(&[("board", "[board]\nthicknes = 12\nhole = 8")]));
    let at_terminal = |env: &[(&str, &str)]| {
        let (shown, code) = Terminal::run_with(folder.path(), &["make", "trial.toml"], env).end();
        assert_eq!(code, Some(1));
        assert!(shown.contains("did you mean `thickness`?"), "{shown}");
        shown.contains('\x1b')
    };
    assert!(at_terminal(&[]), "a terminal shows colour");
    assert!(!at_terminal(&[("NO_COLOR", "1")]), "NO_COLOR is obeyed");
    assert!(!at_terminal(&[("TERM", "dumb")]), "so is a terminal without colours");
    let assert =
        bradawl(folder.path()).env_remove("NO_COLOR").args(["make", "trial.toml"]).assert();
    assert!(!assert.get_output().stderr.contains(&0x1b), "a pipe gets plain text");
}

/// Long enough for somebody to wait: a bar at a terminal, nothing anywhere else.
#[test]
fn a_bar_is_shown_at_a_terminal_to_whoever_waits() {
    let folder = workshop();
    // Sums take longer to read than numbers, so that the file can be shorter.
    let there_and_back =
        "G0 X[99.5+SQRT[ABS[4-2*2]]] Y[SIN[30]*200]\nG0 X[400-2**3/8] Y[200-COS[60]]\n";
    let text =
        format!("G21 G17 G90 G94 G54\nG0 Z30\n{}G0 X0 Y0\nM2\n", there_and_back.repeat(1_500_000));
    fs::write(folder.path().join("long.nc"), text).expect("written");
    let args = ["dry-run", "long.nc", "--machine", "bench-router", "--work", "800x500x12"];
    let (shown, code) = Terminal::run(folder.path(), &args).end();
    assert_eq!(code, Some(0), "{shown}");
    assert!(shown.contains("to go") && shown.contains(" %"), "{shown}");
    let places = (0..6_000u64).map(|i| format!("{} {}\n", i * 7919 % 20_011, i * i % 19_997));
    fs::write(folder.path().join("places.txt"), places.collect::<String>()).expect("written");
    let (shown, code) = Terminal::run(folder.path(), &["order", "places.txt"]).end();
    assert_eq!(code, Some(0), "{shown}");
    assert!(shown.contains("to go") && shown.contains("6000 places"), "{shown}");
    let (shown, _) = Terminal::run(folder.path(), &[&args[..], &["--quiet"]].concat()).end();
    assert_eq!(shown, "");
    let assert = bradawl(folder.path()).args(args).assert().code(0);
    assert!(assert.get_output().stderr.is_empty());
}

#[test]
fn every_command_shows_examples() {
    let folder = workshop();
    let help = |args: &[&str]| {
        let assert = bradawl(folder.path()).args(args).assert().code(0);
        String::from_utf8_lossy(&assert.get_output().stdout).into_owned()
    };
    let all = help(&["--help"]);
    let commands = all.lines().skip_while(|line| !line.starts_with("Commands:")).skip(1);
    // The rest of a long description stands farther in.
    let commands: Vec<&str> = commands
        .take_while(|line| !line.is_empty())
        .filter(|line| !line.starts_with("   "))
        .filter_map(|line| line.split_whitespace().next())
        .collect();
    assert!(commands.len() >= 8, "{commands:?}");
    for command in commands.into_iter().filter(|command| *command != "help") {
        let text = help(&[command, "--help"]);
        assert!(
            text.contains(&format!("  bradawl {command} "))
                || text.contains(&format!("  bradawl {command}\n")),
            "{text}"
        );
    }
}
