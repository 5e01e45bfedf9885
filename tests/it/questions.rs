//! `bradawl new`: the questions over lines in memory, as flags, and at a terminal.

use crate::{
    cli::{bradawl, workshop},
    demo::{home, machines, source},
    terminal::Terminal,
};
use bradawl::{
    ask::{Answers, Ended, Interview, Old, QUESTIONS, talk},
    job::{Job, Shape, Shoulder},
    layout,
};
use std::{fs, time::Duration};

/// A conversation with these lines typed; what was shown, and the job file as it then stands.
fn typed(old: Option<Old>, lines: &str) -> (Ended, String, String) {
    let machines = machines();
    let mut interview = Interview::new(old, &machines);
    let mut shown = Vec::new();
    let ended =
        talk(&mut interview, &mut lines.as_bytes(), &mut shown, &mut |_| Ok(())).expect("memory");
    (ended, String::from_utf8(shown).expect("text"), interview.text())
}

fn read(text: &str) -> Job {
    let job = crate::demo::job(text);
    layout::lay_out(&job).unwrap_or_else(|wrong| panic!("{wrong:#?}"));
    job
}

fn old(name: &str) -> (Old, String) {
    let text = fs::read_to_string(home().join("jobs").join(name)).expect("a demo");
    (Old::read(&source(&text)).unwrap_or_else(|wrong| panic!("{wrong:#?}")), text)
}

/// A reading nook's back, by tape in millimetres; the machines by number and by name.
const NOOK: &str = "\
Reading nook, back
2
mm


840
560
12
8
50
8
30 line
30
diamond

90
135
190


1400
75
down
measured
45
36
1
bench
roll-plotter
";

#[test]
fn a_conversation_from_beginning_to_end() {
    let (ended, shown, text) = typed(None, &format!("{NOOK}\n"));
    assert_eq!(ended, Ended::Done);
    insta::assert_snapshot!("a_whole_conversation", shown);
    insta::assert_snapshot!("the_job_file_of_a_conversation", text);
    let job = read(&text);
    assert_eq!((job.quantity, job.used_in, job.fabric.turn_in), (2, None, 75.0));
    let named = job.on.foam.expect("a machine").value;
    assert_eq!(named, "bench-router", "the first letters are enough");
}

/// Published: the king headboard of a maker's write-up (freshlyastoot.blogspot.com, July 2015), by tape in inches:
/// 72.5 x 28.75 in, edges 4.75, 4 and 3.75 in, whole diamonds of 7 in: 38 buttons, everything closes exactly.
#[test]
fn a_tape_in_inches_with_fractions() {
    let lines = "King headboard\n\nin\n\n\n72 1/2\n28-3/4\n1/2\n5/16\n2 in\n0\n36 line\n\"\n1 3/16\n\n\n\
                 4 3/4, 4, 3 3/4\n10 buttons\n14\nlong\n\n60\n3\nnone\ndepth\n\nnone\nnone\nnone\n\n";
    let (ended, shown, text) = typed(None, lines);
    assert_eq!(ended, Ended::Done, "{shown}");
    assert!(shown.contains("`\"` is not a length"), "{shown}");
    assert!(
        text.contains("width = \"72 1/2 in\"") && text.contains("thickness = \"1/2 in\""),
        "{text}"
    );
    let job = read(&text);
    let fit = layout::lay_out(&job).expect("laid out");
    assert_eq!(fit.buttons.len(), 38);
    assert!((fit.fitted.width - 177.8).abs() < 1e-9 && (fit.fitted.row_gap() - 177.8).abs() < 1e-9);
    assert_eq!(job.on.board, None);
}

#[test]
fn going_back_offers_what_was_said_before() {
    let stopped = NOOK.lines().take(7).collect::<Vec<_>>().join("\n");
    let (_, shown, text) = typed(None, &format!("{stopped}\nback\nback\n900\n\nstop\n"));
    assert!(shown.contains("mm [840] > ") && shown.contains("mm [560] > "), "{shown}");
    assert!(text.contains("width = 900") && text.contains("height = 560"), "{text}");
    let (ended, shown, _) = typed(None, "back\n");
    assert!(shown.contains("This is the first question."), "{shown}");
    assert_eq!(ended, Ended::Stopped, "the lines came to an end");
    // At the very end too.
    let (ended, _, text) = typed(None, &format!("{NOOK}back\nnone\n\n"));
    assert_eq!(ended, Ended::Done);
    assert_eq!(read(&text).on.fabric, None);
}

/// A bare number never changes its meaning behind a person's back.
#[test]
fn another_unit_asks_for_the_lengths_again() {
    let (_, shown, text) =
        typed(None, "Trial\n1\nmm\n\n\n840\nback\nback\nback\nback\nin\n\n\n33\n22\nstop\n");
    assert!(text.contains("units = \"in\"") && text.contains("width = 33\n"), "{shown}\n{text}");
    assert!(!text.contains("840"), "{text}");
}

#[test]
fn answers_that_make_no_sense_are_asked_for_again() {
    let (_, shown, _) = typed(
        None,
        "\n \nTrial\nnone\n0\n2.5\n1\nfeet\nmm\n\nround\n\n-3\nwide\n900000\nnan\n0\n840\n560\n\n\n\n\n\n\n\
         hexagon\nd\n\n300\n90, 80\n90\n900\n1 buttons\n7 buttons\n\n\n99\nback\n\nstop\n",
    );
    insta::assert_snapshot!("answers_without_sense", shown);
}

#[test]
fn a_neighbouring_fit_is_chosen_by_number_or_by_its_name() {
    let first: Vec<&str> = NOOK.lines().take(19).collect();
    for choice in ["2", "7 x 4"] {
        let lines = format!("{}\n{choice}\nstop\n", first.join("\n"));
        let (_, shown, text) = typed(None, &lines);
        assert!(shown.contains(" 2  "), "{shown}");
        assert!(text.contains("across =") && text.contains("rows ="), "{choice}: {shown}\n{text}");
    }
}

/// All that was not asked about stays, comments too; what is asked about is offered.
#[test]
fn an_old_job_keeps_what_was_not_asked_about() {
    let (from, before) = old("lobby-tile.toml");
    let enters = "\n".repeat(QUESTIONS.len() + 2);
    let (ended, shown, text) = typed(Some(from), &enters);
    assert_eq!(ended, Ended::Done, "{shown}");
    assert!(!shown.contains("Not so"), "{shown}");
    let mut same = crate::demo::job(&before);
    let new = read(&text);
    same.wadding = new.wadding;
    let plain = |job: &Job| {
        let text = format!("{job:?}");
        // Places in the file differ.
        let mut kept = String::new();
        for part in text.split("span: ") {
            kept.push_str(part.split_once('}').map_or(part, |(_, rest)| rest));
        }
        kept
    };
    assert_eq!(plain(&new), plain(&same));
    assert!(text.contains("leave     = 10") && text.contains("face_up   = \"back\""), "{text}");
    assert!(text.contains("# the edge gives way, the diamonds do not"), "{text}");
    assert!(text.starts_with("# One tile of a hotel lobby wall"), "{text}");

    let (from, _) = old("cafe-banquette.toml");
    let (ended, shown, text) = typed(
        Some(from),
        &format!("Square bench\n\n\n\n800\n\n\n\n\n\n\n\nsquare\n\n\n150\n150\n{enters}"),
    );
    assert_eq!(ended, Ended::Done, "{shown}");
    let job = read(&text);
    let size = layout::lay_out(&job).expect("laid out").outline;
    assert_eq!((size.width(), size.height(), job.quantity), (800.0, 560.0, 4));
    assert!(text.contains("[pattern.square]") && !text.contains("[pattern.diamond]"), "{text}");
    assert!(text.contains("width  = 800\n"), "{text}");
}

/// One stand-in that does not fit would make every answer look wrong.
#[test]
fn whatever_is_answered_the_rest_can_be_stood_in_for() {
    for (words, answers) in [
        (["pattern", "allowance"], ["square", "hole"]),
        (["pattern", "allowance"], ["diamond", "measured"]),
        (["fit", "allowance"], ["exact", "depth"]),
        (["shape", "allowance"], ["arch", "depth"]),
        (["shape", "pattern"], ["shouldered", "square"]),
        (["shape", "pattern"], ["ellipse", "diamond"]),
        (["shape", "fit"], ["ellipse", "whole"]),
    ] {
        let machines = machines();
        let mut interview = Interview::new(None, &machines);
        let mut given = Answers::default();
        for (word, answer) in words.into_iter().zip(answers) {
            given.0.insert(word.to_string(), answer.to_string());
        }
        assert_eq!(interview.fill_in(&given, false), Vec::<String>::new(), "{answers:?}");
        for word in words {
            assert!(interview.answers().get(word).is_some(), "{word}");
        }
    }
}

/// A panel of another shape from an old one: what both shapes have stays, what the old one alone had goes.
#[test]
fn an_old_rectangle_becomes_a_shouldered_panel_and_an_arch() {
    let (old, _) = old("cafe-banquette.toml");
    let machines = machines();
    let mut interview = Interview::new(Some(old), &machines);
    let mut given = Answers::default();
    for (word, answer) in [
        ("title", "Booth end"),
        ("shape", "shouldered"),
        ("shoulder-width", "120"),
        ("shoulder-drop", "60"),
        ("shoulder", "scoop"),
        ("middle-rise", "20"),
    ] {
        given.0.insert(word.to_string(), answer.to_string());
    }
    assert_eq!(interview.fill_in(&given, true), Vec::<String>::new());
    let text = interview.text();
    let shouldered = read(&text).panel.shape;
    let Shape::Shouldered { width, height, shoulder_width, shoulder, rise, .. } = &shouldered
    else {
        panic!("{text}")
    };
    let lengths = [width, height, shoulder_width, rise].map(|length| length.value);
    assert_eq!(lengths, [840.0, 560.0, 120.0, 20.0]);
    assert_eq!(*shoulder, Shoulder::Scoop);

    let old = Old::read(&source(&text)).expect("a job");
    let mut interview = Interview::new(Some(old), &machines);
    let shape = QUESTIONS.iter().find(|q| q.word == "shape").expect("asked");
    assert_eq!(interview.offer(shape).as_deref(), Some("shouldered"));
    let mut given = Answers::default();
    given.0.insert("shape".to_string(), "arch".to_string());
    given.0.insert("rise".to_string(), "140".to_string());
    assert_eq!(interview.fill_in(&given, true), Vec::<String>::new());
    let text = interview.text();
    let arch = read(&text).panel.shape;
    assert!(matches!(arch, Shape::Arch { ref rise, .. } if rise.value == 140.0), "{text}");
    assert!(!text.contains("shoulder"), "{text}");
}

/// An outline that no question describes is neither asked about nor lost.
#[test]
fn an_old_outline_that_nobody_asks_about_stays() {
    let (_, text) = old("cafe-banquette.toml");
    let outline =
        "[panel.polygon]\npoints = [[0, 0], [840, 0], [840, 500, 40], [420, 560], [0, 500]]\n";
    let start = text.find("[panel.rectangle]").expect("there");
    let end = start + text[start..].find("\n[").expect("another table") + 1;
    let text = format!("{}{outline}\n{}", &text[..start], &text[end..]);
    let old = Old::read(&source(&text)).expect("a job");
    let machines = machines();
    let mut interview = Interview::new(Some(old), &machines);
    assert!(interview.open().all(|question| !question.place.starts_with("panel")));
    assert_eq!(interview.fill_in(&Answers::default(), true), Vec::<String>::new());
    assert!(interview.text().contains(outline));
}

/// The flags of a whole job, and the file they are written to.
const FLAGS: [&str; 30] = [
    "--title",
    "Reading nook, back",
    "--width",
    "33 1/16 in",
    "--height",
    "560",
    "--board-thickness",
    "12",
    "--board-hole",
    "8",
    "--foam-thickness",
    "50",
    "--button",
    "30 line",
    "--foam-hole",
    "30",
    "--edge",
    "90",
    "--diamond-width",
    "135",
    "--diamond-height",
    "190",
    "--roll-width",
    "1400",
    "--turn-in",
    "75",
    "--allowance",
    "depth",
    "--board-on",
    "bench-router",
];

#[test]
fn flags_alone_write_a_job_that_make_takes() {
    let folder = workshop();
    let new = |args: &[&str]| {
        let assert = bradawl(folder.path()).arg("new").args(FLAGS).args(args).assert();
        let output = assert.get_output().clone();
        let said = |bytes| String::from_utf8(bytes).expect("text");
        (output.status.code(), said(output.stdout), said(output.stderr))
    };
    let (code, _, missing) = new(&[]);
    assert_eq!(code, Some(2));
    insta::assert_snapshot!("answers_that_are_missing", missing);
    assert!(fs::read_dir(folder.path()).expect("there").count() == 1, "nothing was written");

    let rest = ["--foam-on", "bench-router", "--fabric-on", "none"];
    let (code, said, _) = new(&rest);
    assert_eq!(code, Some(0));
    assert_eq!(
        said,
        "Written: reading-nook-back.toml\nNext:    bradawl make reading-nook-back.toml\n"
    );
    bradawl(folder.path()).args(["make", "reading-nook-back.toml"]).assert().code(0);
    assert!(folder.path().join("out/reading-nook-back/foam.nc").exists());

    // The name is taken: the next is free. A name that was asked for is never taken over.
    let (code, said, _) = new(&rest);
    assert!(code == Some(0) && said.contains("reading-nook-back-2.toml"), "{said}");
    let before = fs::read(folder.path().join("reading-nook-back.toml")).expect("there");
    let (code, _, said) = new(&[&rest[..], &["reading-nook-back"]].concat());
    assert!(code == Some(2) && said.contains("is there already"), "{said}");
    assert_eq!(fs::read(folder.path().join("reading-nook-back.toml")).expect("there"), before);

    let (code, _, said) = new(&[&rest[..], &["--pile", "up", "--quantity", "0"]].concat());
    assert_eq!(code, Some(2));
    insta::assert_snapshot!("flags_without_sense", said);
}

#[test]
fn an_old_job_and_two_flags_are_a_new_job() {
    let folder = workshop();
    fs::copy(home().join("jobs/cafe-banquette.toml"), folder.path().join("old.toml"))
        .expect("copied");
    let args = ["new", "new.toml", "--from", "old.toml", "--title", "Corner", "--width", "900"];
    bradawl(folder.path()).args(args).args(["--units", "in"]).assert().code(2);
    // The machines are asked too.
    let assert =
        bradawl(folder.path()).args(args).args(["--board-thickness", "65"]).assert().code(2);
    let said = String::from_utf8_lossy(&assert.get_output().stderr).into_owned();
    assert!(said.contains("--board-on: the board needs a hole 65.5 mm deep"), "{said}");
    bradawl(folder.path()).args(args).assert().code(0);
    bradawl(folder.path()).args(["make", "new.toml"]).assert().code(0);
    let text = fs::read_to_string(folder.path().join("new.toml")).expect("written");
    let old = fs::read_to_string(folder.path().join("old.toml")).expect("there");
    let changed: Vec<(&str, &str)> =
        old.lines().zip(text.lines()).filter(|(a, b)| a != b).collect();
    assert_eq!(changed.len(), 2, "only what was said differs: {changed:?}");

    fs::write(folder.path().join("broken.toml"), "title = 3").expect("written");
    bradawl(folder.path()).args(["new", "x.toml", "--from", "broken.toml"]).assert().code(1);
    bradawl(folder.path()).args(["new", "x.toml", "--from", "nowhere.toml"]).assert().code(2);
}

#[test]
fn at_a_terminal_it_asks_is_interrupted_and_goes_on() {
    let folder = workshop();
    let lines: Vec<&str> = NOOK.lines().collect();
    let mut terminal = Terminal::run(folder.path(), &["new"]);
    terminal.until("> ");
    for line in &lines[..10] {
        terminal.line(line);
        terminal.until("> ");
    }
    // The plug is pulled.
    terminal.program.kill().expect("killed");
    terminal.end();
    let kept = folder.path().join("reading-nook-back.toml.unfinished");
    assert!(kept.exists(), "the answers are kept");
    assert!(!folder.path().join("reading-nook-back.toml").exists());

    let mut terminal = Terminal::run(folder.path(), &["new"]);
    terminal.until("> ");
    assert!(
        terminal.shown.contains("Going on with reading-nook-back.toml after 10 answers")
            && terminal.shown.contains("How thick is the wadding"),
        "{}",
        terminal.shown
    );
    terminal.line("back");
    terminal.until("mm [50] > ");
    terminal.line("45");
    terminal.until("> ");
    for line in &lines[10..] {
        terminal.line(line);
        terminal.until("> ");
    }
    terminal.line("");
    let (shown, code) = terminal.end();
    assert_eq!(code, Some(0), "{shown}");
    assert!(shown.contains("o   o   o   o   o   o") || shown.contains(" / \\ / \\"), "{shown}");
    assert!(shown.contains("Next:    bradawl make reading-nook-back.toml"), "{shown}");
    assert!(!kept.exists(), "the answers are in the job now");
    let text = fs::read_to_string(folder.path().join("reading-nook-back.toml")).expect("written");
    assert!(text.contains("thickness = 45"), "{text}");
    bradawl(folder.path()).args(["make", "reading-nook-back.toml"]).assert().code(0);
}

#[test]
fn stopping_keeps_the_answers_and_beginning_afresh_drops_them() {
    let folder = workshop();
    let mut terminal = Terminal::run(folder.path(), &["new", "corner"]);
    for line in ["Corner seat", "3", "stop"] {
        terminal.until("> ");
        terminal.line(line);
    }
    let (shown, code) = terminal.end();
    assert_eq!(code, Some(0), "{shown}");
    assert!(shown.contains("go on with: bradawl new corner.toml"), "{shown}");

    let mut terminal = Terminal::run(folder.path(), &["new", "corner.toml", "--afresh"]);
    terminal.until("> ");
    assert!(terminal.shown.contains("What is the job called? (1 of"), "{}", terminal.shown);
    terminal.line("stop");
    assert_eq!(terminal.end().1, Some(0));

    fs::write(folder.path().join("corner.toml.unfinished"), "title =").expect("written");
    bradawl(folder.path()).args(["new", "corner.toml"]).assert().code(2);
    fs::write(folder.path().join("other.toml.unfinished"), "").expect("written");
    let assert = bradawl(folder.path()).arg("new").assert().code(2);
    let said = String::from_utf8_lossy(&assert.get_output().stderr).into_owned();
    assert!(said.contains("corner.toml or other.toml"), "{said}");
}

/// What the manual shows of the conversation is what is seen.
#[test]
fn the_first_five_minutes_are_as_the_manual_shows_them() {
    let page = include_str!("../../jobs/README.md");
    let block = page.split("```questions\n").nth(1).and_then(|rest| rest.split("```").next());
    let (_, shown, _) = typed(None, NOOK);
    let mut lines = 0;
    for line in block.expect("a block").lines().map(|line| line.strip_prefix("   ").unwrap_or(line))
    {
        // What is typed is not shown by the program but by the terminal.
        let said = line.split_once("> ").map_or(line, |(prompt, _)| prompt).trim_end();
        assert!(shown.contains(said), "{said}");
        lines += 1;
    }
    assert!(lines > 15);
}

/// Nothing waits for ever: a program that hangs is a failure, not a pause.
#[test]
fn without_a_terminal_nothing_is_asked() {
    let folder = workshop();
    bradawl(folder.path())
        .args(["new", "x.toml"])
        .timeout(Duration::from_secs(20))
        .assert()
        .code(2);
}

/// Each line of explanation stands above its key, so it is one line and says something.
#[test]
fn every_question_explains_itself_in_one_line() {
    let mut words: Vec<&str> = QUESTIONS.iter().map(|q| q.word).collect();
    for question in QUESTIONS {
        assert!(question.asks.ends_with('?'), "{}", question.asks);
        assert!(
            (20..=110).contains(&question.explains.len()) && !question.explains.contains('\n'),
            "{}",
            question.explains
        );
    }
    words.sort_unstable();
    words.dedup();
    assert_eq!(words.len(), QUESTIONS.len(), "each question has a name of its own");
    assert!(bradawl::job::read(&source(&typed(None, NOOK).2)).is_ok());
}
