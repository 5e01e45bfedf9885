//! HP-GL/2 rehearsed: each instruction is put into the blocks that it means, and those are rehearsed.
//!
//! Read are IN, SP, PA, PU, PD, VS and CO; anything else stops the reading, since nobody here knows what the
//! plotter would do. Plotter units are 1/40 mm, VS counts centimetres a second (from memory).

use super::{Ending, Fault, Move, Rehearsal, Rule, Setting, rehearse};
use crate::{
    gcode::LanguageRule,
    machine::{Lift, Machine, Speech},
};
use std::fmt::Write;

const UNIT: f64 = 0.025;

/// As [`rehearse`], for a program in HP-GL/2.
pub fn rehearse_hpgl(text: &str, setting: &Setting, mut watch: impl FnMut(&Move)) -> Rehearsal {
    let spoken = speak(text, setting.machine);
    let machine = Machine {
        speech: Speech { line_length: 250, ..Speech::default() },
        pen: setting.machine.pen.clone().map(|mut pen| {
            pen.lift = Lift::Words { up: "M5".to_string(), down: "M3".to_string() };
            pen
        }),
        ..setting.machine.clone()
    };
    let line = |spoken_line: u64| -> u64 {
        let index = (spoken_line as usize).clamp(1, spoken.lines.len().max(1)) - 1;
        spoken.lines.get(index).copied().unwrap_or(1)
    };
    let inner = Setting { machine: &machine, work: setting.work };
    let mut rehearsal = rehearse(spoken.text.as_bytes(), &inner, |step| {
        watch(&Move { line: line(step.line), ..step.clone() });
    })
    .expect("reading from memory does not fail");
    for fault in &mut rehearsal.faults {
        fault.line = line(fault.line);
    }
    for warning in &mut rehearsal.warnings {
        warning.line = line(warning.line);
    }
    if let Some((line, message)) = spoken.refused {
        rehearsal.ending = Ending::Refused;
        rehearsal.faults.retain(|fault| fault.line <= line);
        rehearsal.faults.push(Fault {
            rule: Rule::Language(LanguageRule::NotRehearsed),
            line,
            message,
        });
    }
    rehearsal.lines = text.lines().count() as u64;
    rehearsal
}

/// The program in blocks, and for each line of those the line that it came from.
struct Spoken {
    text: String,
    lines: Vec<u64>,
    refused: Option<(u64, String)>,
}

impl Spoken {
    fn say(&mut self, line: u64, words: std::fmt::Arguments) {
        let _ = self.text.write_fmt(words);
        self.text.push('\n');
        self.lines.push(line);
    }
}

fn speak(text: &str, machine: &Machine) -> Spoken {
    let mut spoken = Spoken { text: String::new(), lines: Vec::new(), refused: None };
    let pen = machine.pen.as_ref();
    let settle = pen.map_or(0.0, |pen| pen.settle);
    let mut speed = pen.map_or(0.0, |pen| pen.speed);
    // Where it stands at first depends on the machine.
    let (mut down, mut ended, mut at) = (false, false, None);
    spoken.say(1, format_args!("G21 G17 G90 G94 G54"));
    for (line, instruction) in instructions(text) {
        let known = (|| -> Option<()> {
            if ended {
                return None;
            }
            if let Some(words) = instruction.strip_prefix("CO") {
                let words = words.strip_prefix('"')?.strip_suffix('"')?;
                let plain =
                    words.chars().all(|c| (c.is_ascii_graphic() || c == ' ') && !"()".contains(c));
                plain.then(|| spoken.say(line, format_args!("({words})")))?;
                return Some(());
            }
            let (name, rest) = instruction.split_at_checked(2)?;
            let numbers = numbers(rest)?;
            match (name, numbers.as_slice()) {
                ("IN", []) | ("SP", [1.0]) => {
                    spoken.say(line, format_args!("M5"));
                    down = false;
                }
                ("PA", []) => {}
                ("VS", [cm]) if *cm > 0.0 => speed = cm * 600.0,
                ("SP", [0.0]) => {
                    spoken.say(line, format_args!("M2"));
                    ended = true;
                }
                ("PU" | "PD", places) if places.len() % 2 == 0 => {
                    let lower = name == "PD";
                    if lower != down || !lower {
                        spoken.say(line, format_args!("{}", if lower { "M3" } else { "M5" }));
                        // The plotter waits by itself until the pen has settled.
                        if lower != down && settle > 0.0 {
                            spoken.say(line, format_args!("G4 P{settle}"));
                        }
                        down = lower;
                    }
                    for place in places.chunks(2) {
                        let to = [place[0] * UNIT, place[1] * UNIT];
                        if Some(to) == at && lower {
                            continue;
                        }
                        at = Some(to);
                        let [x, y] = to;
                        match lower {
                            true => {
                                spoken.say(line, format_args!("G1 X{x:.3} Y{y:.3} F{speed:.1}"))
                            }
                            false => spoken.say(line, format_args!("G0 X{x:.3} Y{y:.3}")),
                        }
                    }
                }
                _ => return None,
            }
            Some(())
        })();
        if known.is_none() {
            spoken.refused =
                Some((line, format!("`{instruction}` is none of IN, SP, PA, PU, PD, VS and CO")));
            break;
        }
    }
    spoken
}

/// The instructions and their lines. A `;` ends each, but for those in the quotes of a comment.
fn instructions(text: &str) -> Vec<(u64, String)> {
    let mut found = Vec::new();
    let (mut line, mut begun, mut quoted) = (1u64, 1u64, false);
    let mut words = String::new();
    for c in text.chars() {
        match c {
            ';' if !quoted => {
                found.push((begun, std::mem::take(&mut words)));
            }
            '\n' if !quoted => line += 1,
            '\r' | ' ' if !quoted => {}
            _ => {
                if words.is_empty() {
                    begun = line;
                }
                quoted ^= c == '"';
                words.push(c);
            }
        }
    }
    if !words.is_empty() {
        // The last instruction was cut off.
        found.push((begun, format!("{words} without its end")));
    }
    found
}

/// Whole numbers between commas, within what a plotter counts to.
fn numbers(text: &str) -> Option<Vec<f64>> {
    if text.is_empty() {
        return Some(Vec::new());
    }
    let number = |word: &str| word.parse::<i32>().ok().filter(|n| n.abs() < 1 << 24).map(f64::from);
    text.split(',').map(number).collect()
}
