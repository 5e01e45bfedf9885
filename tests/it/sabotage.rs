//! Accepted programs, spoilt in every way we could think of: the checker must object each time.

use crate::demo::{Demo, board, demos, job, job_text, machines};
use bradawl::{
    machine::{Machine, Work},
    make::{self, Wanted},
    paper::Paper,
    route::Effort,
    verify::verify,
};
use std::collections::BTreeMap;

type Lines = Vec<String>;

/// One way to spoil a program; `None` where it does not apply.
type Sabotage = fn(&Lines) -> Option<Lines>;

const SABOTAGES: [(&str, Sabotage); 25] = [
    ("a place moved by a tenth", |l| change(l, middle(l, is_place)?, |line| shift(line, 'X', 0.1))),
    ("a place moved by six thousandths", |l| {
        change(l, middle(l, is_place)?, |line| shift(line, 'Y', 0.006))
    }),
    ("a place moved back by six thousandths", |l| {
        change(l, middle(l, is_place)?, |line| shift(line, 'Y', -0.006))
    }),
    ("all of one place left out", |l| {
        let from = middle(l, is_place)?;
        let to = (from + 1..l.len()).find(|&i| is_place(&l[i]))?;
        Some([&l[..from], &l[to..]].concat())
    }),
    ("one place done twice", |l| {
        let from = middle(l, is_place)?;
        let to = (from + 1..l.len()).find(|&i| is_place(&l[i]))?;
        Some([&l[..to], &l[from..to], &l[to..]].concat())
    }),
    // The last: the first only makes sure of what a person may have moved at the pause.
    ("a rise left out", |l| {
        let last = l.iter().rposition(|line| is_rise(line) && line != "M5");
        without(l, last.or_else(|| middle(l, is_rise))?)
    }),
    ("a place and what follows it exchanged", |l| {
        let at = middle(l, is_place)?;
        let mut lines = l.clone();
        lines.swap(at, at + 1);
        Some(lines)
    }),
    ("inches instead of millimetres", |l| replace(l, "G21", "G20")),
    ("steps instead of places", |l| replace(l, "G90", "G91")),
    ("another plane, and an arc or none", |l| {
        replace(l, "G17", "G18").filter(|_| l.iter().any(|x| x.starts_with("G3")))
    }),
    ("the spindle never started, or the pen never set down", |l| {
        let spindle = l.iter().position(|line| line == "M3" || line == "M4");
        without(
            l,
            spindle
                .or_else(|| middle(l, |line| line == "M3 S90" || line.starts_with("G1 Z0.000")))?,
        )
    }),
    ("the spindle turned the other way", |l| {
        let at = l.iter().position(|line| line == "M3" || line == "M4")?;
        change(l, at, |line| Some(if line == "M3" { "M4" } else { "M3" }.to_string()))
    }),
    ("a hole a millimetre deeper", |l| {
        change(l, middle(l, |line| depth(line) == lowest(l))?, |line| shift(line, 'Z', -1.0))
    }),
    ("a hole a hundredth less deep", |l| {
        let deepest = lowest(l)?;
        let from = middle(l, is_place)?;
        let to = (from + 1..l.len()).find(|&i| is_place(&l[i]))?;
        let shallower = |line: &String| match depth(line) {
            Some(z) if z == deepest => shift(line, 'Z', 0.01),
            _ => Some(line.clone()),
        };
        Some(
            [
                l[..from].to_vec(),
                l[from..to].iter().map(shallower).collect::<Option<Lines>>()?,
                l[to..].to_vec(),
            ]
            .concat(),
        )
        .filter(|spoilt| spoilt != l)
    }),
    ("no end", |l| without(l, l.iter().position(|line| line == "M2")?)),
    ("not parked", |l| {
        let park = (0..l.len()).rev().find(|&i| is_place(&l[i]))?;
        change(l, park, |line| shift(line, 'X', 50.0))
    }),
    ("no feed said", |l| Some(l.iter().map(|line| cut_word(line, 'F')).collect())),
    ("ten times the feed", |l| {
        change(l, middle(l, |line| line.contains(" F"))?, |line| Some(line.replace(" F", " F9")))
    }),
    ("the origin moved by a word", |l| insert(l, middle(l, is_place)?, "G92 X1.000")),
    ("the origin moved for the rest", |l| insert(l, middle(l, is_place)?, "G10 L2 P1 X3.000")),
    ("cut off in the middle", |l| Some(l[..l.len() / 2].to_vec())),
    ("an unplanned cut or stroke beside a place", |l| {
        let at = middle(l, is_place)?;
        let to = (at + 1..l.len()).find(|&i| is_place(&l[i]))?;
        let mut more = l[at..to].to_vec();
        more[0] = shift(&more[0], 'X', 3.0)?;
        Some([&l[..to], &more[..], &l[to..]].concat())
    }),
    ("another size of work stated", |l| {
        let at = l.iter().position(|line| line.contains("work ") && line.contains(" x "))?;
        change(l, at, |line| Some(line.replacen("work ", "work 1", 1)))
    }),
    ("a rapid into the work", |l| {
        let at = middle(l, |line| line.starts_with("G1 Z") && !line.starts_with("G1 Z0.000"))
            .or_else(|| middle(l, |line| line.starts_with("G1 X")))?;
        change(l, at, |line| Some(line.replacen("G1", "G0", 1)))
    }),
    ("another tool called", |l| {
        change(l, l.iter().position(|line| line.starts_with('T'))?, |_| Some("T9".to_string()))
    }),
];

fn is_place(line: &str) -> bool {
    line.starts_with("G0 X")
}

/// A rise to travel height, or the words that lift the pen, between places.
fn is_rise(line: &str) -> bool {
    line == "M5"
        || (line.starts_with("G0 Z") && !line.contains('-') && !line.starts_with("G0 Z2.000"))
}

/// The depth that a line goes to, in thousandths, as a whole number.
fn depth(line: &str) -> Option<i64> {
    let word = line.split(' ').find_map(|word| word.strip_prefix("Z-"))?;
    word.replace('.', "").parse().ok()
}

/// The greatest depth of a program.
fn lowest(lines: &Lines) -> Option<i64> {
    lines.iter().filter_map(|line| depth(line)).max()
}

/// A line of the kind in the middle of the program, where the work goes on.
fn middle(lines: &Lines, kind: impl Fn(&str) -> bool) -> Option<usize> {
    let those: Vec<usize> = (0..lines.len() - 3).filter(|&i| kind(&lines[i])).collect();
    those.get(those.len() / 2).copied()
}

fn change(lines: &Lines, at: usize, with: impl Fn(&str) -> Option<String>) -> Option<Lines> {
    let mut lines = lines.clone();
    lines[at] = with(&lines[at])?;
    Some(lines)
}

fn without(lines: &Lines, at: usize) -> Option<Lines> {
    let mut lines = lines.clone();
    lines.remove(at);
    Some(lines)
}

fn insert(lines: &Lines, at: usize, line: &str) -> Option<Lines> {
    let mut lines = lines.clone();
    lines.insert(at, line.to_string());
    Some(lines)
}

fn replace(lines: &Lines, from: &str, to: &str) -> Option<Lines> {
    change(lines, lines.iter().position(|line| line.contains(from))?, |line| {
        Some(line.replace(from, to))
    })
}

/// The line with the number after `letter` changed.
fn shift(line: &str, letter: char, by: f64) -> Option<String> {
    let words = line.split(' ').map(|word| match word.strip_prefix(letter) {
        Some(number) => Some(format!("{letter}{:.3}", number.parse::<f64>().ok()? + by)),
        None => Some(word.to_string()),
    });
    let changed = words.collect::<Option<Vec<String>>>()?.join(" ");
    (changed != line).then_some(changed)
}

fn cut_word(line: &str, letter: char) -> String {
    line.split(' ').filter(|word| !word.starts_with(letter)).collect::<Vec<_>>().join(" ")
}

#[test]
fn every_spoilt_program_is_objected_to() {
    for Demo { name, made, .. } in demos() {
        for program in &made.programs {
            let lines: Lines = program.verified.text().lines().map(str::to_string).collect();
            let mut tried = 0;
            for (kind, sabotage) in SABOTAGES {
                let Some(spoilt) = sabotage(&lines) else { continue };
                assert_ne!(spoilt, lines, "{name} {}: `{kind}` changes something", program.file);
                let text = spoilt.join("\n") + "\n";
                let verdict = verify(text, &program.plan, &program.machine);
                assert!(verdict.is_err(), "{name} {}: `{kind}` was accepted", program.file);
                tried += 1;
            }
            assert!(tried >= 12, "{name} {}: only {tried} kinds of sabotage apply", program.file);
        }
    }
}

#[test]
fn a_lone_byte_flipped_in_a_number_is_objected_to() {
    let Demo { name, made, .. } = &demos()[0];
    for program in &made.programs {
        let text = program.verified.text();
        // Before the first wait (spin-up, pen settling) nothing touches the work.
        let body = text.find("\nG4 ").expect("a program waits for spindle or pen");
        let park = text.lines().rev().find(|line| is_place(line)).expect("a program parks");
        let digits: Vec<usize> = text
            .char_indices()
            .filter(|(at, c)| *at > body && c.is_ascii_digit())
            .map(|(at, _)| at)
            .collect();
        for &at in digits.iter().step_by(digits.len() / 150 + 1) {
            let mut bytes = text.as_bytes().to_vec();
            bytes[at] = if bytes[at] == b'9' { b'1' } else { bytes[at] + 1 };
            let line =
                text[text[..at].rfind('\n').map_or(0, |n| n + 1)..].lines().next().unwrap_or("");
            // The park place may be missed by a little, and a thousandth more or less is within what a machine can hold; waiting, a slower feed and a
            // nearer approach harm nothing.
            let last_decimal = text
                .as_bytes()
                .get(at + 1)
                .is_none_or(|next| !next.is_ascii_digit() && *next != b'.');
            let harmless = line == park
                || last_decimal
                || line.starts_with("G4")
                || line.contains(" F")
                || line.starts_with("G0 Z")
                || line.starts_with('S');
            let spoilt = String::from_utf8(bytes).expect("still digits");
            if !harmless {
                let verdict = verify(spoilt, &program.plan, &program.machine);
                assert!(
                    verdict.is_err(),
                    "{name} {}: byte {at} of `{line}` changed unseen",
                    program.file
                );
            }
        }
    }
}

/// What may be left out of a program without harm to the work: words for people, the approach in the air or in the hole,
/// waiting for the spindle where the way to the first place takes as long, the way to the park place before the tool is fitted,
/// the rise after a pause, which makes sure of what a person may have moved.
fn does_nothing(lines: &Lines, at: usize) -> bool {
    let line = lines[at].as_str();
    let after = lines.get(at + 1).map_or("", String::as_str);
    let before = lines[..at].iter().any(|line| line == "M3" || line == "M4" || line == "M3 S90");
    let comment = line.starts_with(['(', ';']);
    let in_the_air = line.starts_with("G0 Z") && !line.contains('-') && before && !is_rise(line);
    let down_to_it = line == "G0 Z2.000" && is_place(&lines[at - 1]);
    let approach = down_to_it || line.starts_with("G0 Z-") || line.starts_with("G1 Z0.000 F");
    let waiting = line.starts_with("G4") && ["M3", "M4"].contains(&lines[at - 1].as_str());
    // The way there may have been said axis by axis.
    let last = |axis: &str| {
        let word = |line: &String| {
            let mut moves = line.starts_with('G').then(|| line.split(' ')).into_iter().flatten();
            moves.rfind(|word| word.starts_with(axis)).map(str::to_string)
        };
        lines[..at].iter().rev().find_map(word).unwrap_or_default()
    };
    let there_already = is_place(line) && line[3..] == format!("{} {}", last("X"), last("Y"));
    let lifted = line.starts_with("G4") && lines[at - 1].starts_with("G0 Z");
    let to_the_middle =
        line.starts_with("G1 X") && !line.contains('Y') && after.starts_with("G0 Z");
    let after_a_pause = is_rise(line) && lines[at - 1] == "M0";
    comment
        || after_a_pause
        || in_the_air
        || approach
        || waiting
        || lifted
        || there_already
        || to_the_middle
        || (!before && line != "G21 G17 G90 G94 G54")
}

/// Every single line left out, in every program.
#[test]
fn no_line_can_be_left_out_but_those_that_do_nothing() {
    for Demo { name, made, .. } in demos() {
        for program in &made.programs {
            let lines: Lines = program.verified.text().lines().map(str::to_string).collect();
            for at in (0..lines.len()).filter(|&at| !does_nothing(&lines, at)) {
                let text = without(&lines, at).expect("a line").join("\n") + "\n";
                let verdict = verify(text, &program.plan, &program.machine);
                assert!(
                    verdict.is_err(),
                    "{name} {}: `{}` was left out unseen",
                    program.file,
                    lines[at]
                );
            }
        }
    }
}

/// The one program of a small job made for `work`, and what `spoil` makes of its lines.
fn objections(
    changes: &[(&str, &str)],
    work: Work,
    spoil: impl Fn(&mut Lines),
) -> Vec<&'static str> {
    objections_on(&machines(), changes, work, spoil)
}

fn objections_on(
    machines: &BTreeMap<String, Machine>,
    changes: &[(&str, &str)],
    work: Work,
    spoil: impl Fn(&mut Lines),
) -> Vec<&'static str> {
    let made = make::make(
        &Wanted {
            job: &job(&job_text(changes)),
            machines,
            works: &[work],
            effort: Effort::Quick,
            paper: Paper::A4,
        },
        &|_| {},
    );
    let program = made.expect("it can be made").programs.remove(0);
    let mut lines: Lines = program.verified.text().lines().map(str::to_string).collect();
    let before = lines.clone();
    spoil(&mut lines);
    assert_ne!(lines, before, "something is spoilt");
    let verdict = verify(lines.join("\n") + "\n", &program.plan, &program.machine);
    let mut names: Vec<&str> = match &verdict {
        Ok(_) => Vec::new(),
        Err(objections) => objections.iter().map(|objection| objection.name()).collect(),
    };
    names.dedup();
    names
}

/// Each kind of way to make a hole or a stroke otherwise than planned has its own objection, and stands
/// alone: nothing else would have found it.
#[test]
fn a_hole_made_in_another_way_than_planned_is_objected_to() {
    let bored = [("board", "[board]\nthickness = \"12 mm\"\nhole = \"10 mm\"")];
    let first =
        |l: &Lines, start: &str| l.iter().position(|line| line.starts_with(start)).expect("a line");
    let last_turn = |l: &Lines| first(l, "G1 X") - 1;
    let opposite = |l: &mut Lines| {
        let at = last_turn(l);
        l[at] = shift(&l[at], 'X', -4.0).expect("an X");
    };
    assert_eq!(objections(&bored, Work::Board, opposite), ["hole-unround"]);
    let without_last = |l: &mut Lines| drop(l.remove(last_turn(l)));
    assert_eq!(objections(&bored, Work::Board, without_last), ["hole-unround"]);
    // A whole turn on the level, and then deeper without one.
    let too_early = |l: &mut Lines| {
        let at = last_turn(l);
        l[at - 1] = l[at - 2].clone();
    };
    assert_eq!(objections(&bored, Work::Board, too_early), ["hole-unround"]);
    let stopped_within = |l: &mut Lines| {
        let at = first(l, "G1 X") + 1;
        l.insert(at, "M5".to_string());
        l.splice(at + 2..at + 2, ["M3", "G4 P3.000"].map(str::to_string));
    };
    assert_eq!(
        objections(&bored, Work::Board, stopped_within),
        ["unplanned-contact", "hole-missing"]
    );
    let out_aslant = |l: &mut Lines| {
        let at = first(l, "G1 X");
        l[at + 1] = shift(&l[at], 'X', 20.0).expect("an X").replace(" F", " Z18.000 F");
    };
    assert_eq!(objections(&bored, Work::Board, out_aslant), ["unplanned-contact", "hole-missing"]);
    // A third deeper in one turn than planned.
    let coarse = |l: &mut Lines| drop(l.remove(last_turn(l) - 3));
    assert_eq!(objections(&bored, Work::Board, coarse), ["hole-steep"]);
    // At the bottom: round on another middle, round on a lesser circle, aside; and all of it on a lesser circle.
    let after = |l: &mut Lines, more: &[String]| {
        let at = last_turn(l) + 1;
        l.splice(at..at, more.iter().cloned());
    };
    let astray = |l: &mut Lines| {
        let other = l[last_turn(l)].replace("I-2.000", "I2.000");
        after(l, &[other]);
    };
    let lesser = |l: &mut Lines| {
        let turn = shift(&l[last_turn(l)], 'X', -1.0).expect("an X").replace("I-2.", "I-1.");
        after(l, &[turn.split(" Y").next().expect("an X").replace("G3", "G1"), turn]);
    };
    let aside = |l: &mut Lines| {
        let out = shift(&l[first(l, "G1 X")], 'X', 3.0).expect("an X");
        after(l, &[out]);
    };
    let narrow = |l: &mut Lines| {
        let (from, to) = (first(l, "G3") - 3, last_turn(l));
        for line in &mut l[from..=to] {
            if let Some(narrower) = shift(line, 'X', -0.1) {
                *line = narrower.replace("I-2.000", "I-1.900");
            }
        }
    };
    let contact = ["unplanned-contact", "hole-missing"];
    assert_eq!(objections(&bored, Work::Board, astray), contact);
    assert_eq!(objections(&bored, Work::Board, lesser), contact);
    assert_eq!(objections(&bored, Work::Board, aside), contact);
    assert_eq!(objections(&bored, Work::Board, narrow), contact);
    let unsaid = |l: &mut Lines| drop(l.remove(first(l, "(work ")));
    assert_eq!(objections(&bored, Work::Board, unsaid), ["work-misstated"]);
    // The same hole in chords, the last of them left out.
    let mut chords = machines();
    chords.get_mut("bench-router").expect("a demo machine").speech.arcs = false;
    let not_round = |l: &mut Lines| {
        let middle =
            l.iter().position(|line| line.starts_with("G1 X") && !line.contains('Y')).expect("it");
        let y = l[middle - 1].split(' ').find(|word| word.starts_with('Y')).expect("a Y");
        l[middle] = l[middle].replace(" F", &format!(" {y} F"));
        l.remove(middle - 1);
    };
    assert_eq!(objections_on(&chords, &bored, Work::Board, not_round), ["hole-unround"]);
    let plunge = |l: &mut Lines| {
        let (from, to) = (first(l, "G3"), last_turn(l));
        let depth = l[to].split(' ').find(|word| word.starts_with('Z')).expect("a Z");
        l[to - 1] = format!("G1 {depth} F600");
        l.drain(from + 1..to - 1);
    };
    assert_eq!(objections(&bored, Work::Board, plunge), ["hole-steep"]);
    let dip = |l: &mut Lines| {
        let at = first(l, "G1 X") + 2;
        let dip = [
            "G0 X400.000 Y200.000",
            "G0 Z2.000",
            "G18 G2 X420.000 Z2.000 I10.000 K0.000 F600.000",
            "G17",
            "G0 Z18.000",
        ];
        l.splice(at..at, dip.map(str::to_string));
    };
    assert_eq!(objections(&bored, Work::Board, dip), ["unplanned-contact"]);
    let chips_left = |l: &mut Lines| {
        let at = first(l, "G0 Z-") - 1;
        l.remove(at);
    };
    assert_eq!(objections(&[], Work::Board, chips_left), ["hole-steep"]);
    let one_bite = |l: &mut Lines| {
        let at = first(l, "G0 Z-");
        l.drain(at - 2..=at);
    };
    assert_eq!(objections(&[], Work::Board, one_bite), ["hole-steep"]);
    let bent = |l: &mut Lines| {
        let at = first(l, "G1 X");
        l[at] = l[at].replacen("G1", "G2", 1).replace(" F", " R900.000 F");
    };
    assert_eq!(objections(&[], Work::Fabric, bent), ["unplanned-stroke", "stroke-missing"]);
    let beside = |l: &mut Lines| {
        let at = first(l, "G1 X");
        l[at] = shift(&l[at], 'X', 1.0).expect("an X");
    };
    assert_eq!(objections(&[], Work::Fabric, beside), ["unplanned-stroke", "stroke-missing"]);
    // Within a stroke: a corner of it a hair aside, and two of its legs bent.
    let corner = |l: &Lines| {
        let whole = |i: &usize| l[*i].starts_with("G1 X") && l[*i].contains(" Y");
        let leg = |i: &usize| whole(i) && whole(&(i + 1)) && l[i - 1].starts_with("G1 X");
        (1..l.len() - 1).find(leg).expect("a stroke of legs aslant")
    };
    for axis in ['X', 'Y'] {
        for (by, right) in [(0.005, true), (-0.005, true), (0.007, false), (-0.007, false)] {
            let aside = |l: &mut Lines| {
                let at = corner(l);
                l[at] = shift(&l[at], axis, by).expect("a word");
            };
            let found = objections(&[], Work::Fabric, aside);
            assert_eq!(found.is_empty(), right, "{axis} {by}: {found:?}");
        }
    }
    let bent_twice = |l: &mut Lines| {
        let at = corner(l);
        for line in &mut l[at..=at + 1] {
            *line = line.replacen("G1", "G2", 1).replace(" F", " R900.000 F");
        }
    };
    assert_eq!(objections(&[], Work::Fabric, bent_twice), ["unplanned-stroke", "stroke-missing"]);
    let on_servo = [(
        "on",
        "[on]\nboard = \"bench-router\"\nfoam = \"bench-router\"\nfabric = \"servo-plotter\"",
    )];
    let dot = |l: &mut Lines| {
        let at = first(l, "G0 X") + 1;
        l.splice(at..at, ["M3 S90", "M5"].map(str::to_string));
    };
    assert_eq!(objections(&on_servo, Work::Fabric, dot), ["pen-not-settled"]);
}

/// A hole of 10 mm, bored by a cutter of 6 mm on a circle of 2 mm, turn by turn and chord by chord.
#[test]
fn a_hole_bored_hardly_otherwise_than_planned_is_objected_to() {
    let bored = [("board", "[board]\nthickness = \"12 mm\"\nhole = \"10 mm\"")];
    let said = |spoil: &dyn Fn(&mut Lines)| objections(&bored, Work::Board, spoil);
    let first = |l: &Lines| l.iter().position(|line| line.starts_with("G3")).expect("a turn");
    let last = |l: &Lines| l.iter().position(|line| line.starts_with("G1 X")).expect("it") - 1;
    let contact = ["unplanned-contact", "hole-missing"];
    // The other way round it is as good, and as steep.
    let other_way = |l: &mut Lines| {
        for line in l.iter_mut().filter(|line| line.starts_with("G3")) {
            *line = line.replacen("G3", "G2", 1);
        }
    };
    assert_eq!(said(&other_way), [""; 0]);
    let steep_the_other_way = |l: &mut Lines| {
        let at = last(l) - 3;
        l.remove(at);
        other_way(l);
    };
    assert_eq!(said(&steep_the_other_way), ["hole-steep"]);
    // All that a turn goes down in its first half.
    let halves = |l: &mut Lines, at: usize, z: [&str; 2]| {
        let x = l[at].split(' ').nth(1).and_then(|word| word.strip_prefix('X'));
        let x = x.expect("an X").to_string();
        let over: f64 = x.parse::<f64>().expect("a number") - 4.0;
        l[at] = format!("G3 X{over:.3} Z{} I-2.000 J0.000 F1200", z[0]);
        l.insert(at + 1, format!("G3 X{x} Z{} I2.000 J0.000 F1200", z[1]));
    };
    assert_eq!(said(&|l| halves(l, first(l), ["-1.500", "-3.000"])), [""; 0]);
    assert_eq!(said(&|l| halves(l, first(l), ["-3.000", "-3.000"])), ["hole-steep"]);
    // On a greater circle at the bottom; on another middle, twice; all of it on a greater or lesser circle.
    let greater = |l: &mut Lines| {
        let at = last(l);
        let turn = shift(&l[at], 'X', 1.0).expect("an X").replace("I-2.", "I-3.");
        let out = turn.split(" Y").next().expect("an X").replace("G3", "G1");
        l.splice(at + 1..at + 1, [out, turn]);
    };
    assert_eq!(said(&greater), contact);
    let astray_twice = |l: &mut Lines| {
        let at = last(l);
        let other = l[at].replace("I-2.000", "I2.000");
        l.splice(at + 1..at + 1, [other.clone(), other]);
    };
    assert_eq!(said(&astray_twice), contact);
    let all_on = |l: &mut Lines, by: f64| {
        let (from, to) = (first(l) - 3, last(l));
        for line in &mut l[from..=to] {
            if let Some(moved) = shift(line, 'X', by) {
                *line = moved.replace("I-2.000", &format!("I{:.3}", -2.0 - by));
            }
        }
    };
    for by in [0.005, -0.005] {
        assert_eq!(said(&|l| all_on(l, by)), [""; 0], "{by}");
    }
    for by in [0.006, -0.006, 0.1] {
        assert_eq!(said(&|l| all_on(l, by)), contact, "{by}");
    }
    // Deeper or less deep, by as much as matters and not.
    let deeper = |l: &mut Lines, by: f64| {
        let at = last(l);
        for line in &mut l[at - 1..=at] {
            *line = shift(line, 'Z', -by).expect("a Z");
        }
    };
    for (by, wrong) in [(0.005, None), (-0.005, None), (0.006, Some("hole-depth"))] {
        assert_eq!(said(&|l| deeper(l, by)), wrong.into_iter().collect::<Vec<_>>(), "{by}");
    }
    assert_eq!(said(&|l| deeper(l, -0.006)), ["hole-depth"]);
    // In chords: a whole turn of them left out, so that the next begins with a step down.
    let mut chords = machines();
    chords.get_mut("bench-router").expect("a demo machine").speech.arcs = false;
    let a_turn_less = |l: &mut Lines| {
        let from = l.iter().position(|line| line.starts_with("G1 Z0.000")).expect("it") + 1;
        let place = |line: &str| line.split(" Z").next().map(str::to_string);
        let turn = (from + 1..).find(|&i| place(&l[i]) == place(&l[from])).expect("a turn") - from;
        l.drain(from + turn..from + 2 * turn);
    };
    assert_eq!(objections_on(&chords, &bored, Work::Board, a_turn_less), ["hole-steep"]);
    // Chords that are too coarse for the machine file: the hole has flats.
    let mut made = |error: f64| {
        let router = chords.get_mut("bench-router").expect("a demo machine");
        router.speech.chord_error = error;
        board(&job(&job_text(&bored)), &chords).expect("it can be made").programs.remove(0)
    };
    let [fine, coarse] = [0.02, 0.15].map(&mut made);
    let text = coarse.verified.text().to_string();
    assert!(verify(text, &coarse.plan, &coarse.machine).is_ok());
    let text = coarse.verified.text().to_string();
    let found = verify(text, &fine.plan, &fine.machine).expect_err("too coarse");
    assert!(found.iter().any(|objection| objection.name() == "hole-missing"), "{found:?}");
}
