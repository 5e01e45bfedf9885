//! `[speech]`: what the controller understands, and what the workshop wants said to it.

use super::{ArcWords, Comments, Dwell, EndWord, Language, Speech, ToolChange};
use crate::{
    diag::{Diagnostic, Given},
    form::{Form, Within},
    units::Unit,
};

impl Default for Speech {
    /// The plainest controller.
    fn default() -> Self {
        Speech {
            writes: Language::Gcode,
            comments: Comments::Parentheses,
            drill_cycle: false,
            arcs: true,
            arc_words: ArcWords::Centre,
            arc_tolerance: 0.005,
            chord_error: 0.02,
            tool_change: ToolChange::Pause,
            length_offset: false,
            tool_change_minutes: 2.0,
            dwell: Dwell::Seconds,
            line_length: 70,
            unit: Unit::Millimetre,
            decimals: 3,
            line_numbers: false,
            percent: false,
            end_word: EndWord::M2,
            start: Vec::new(),
            end: Vec::new(),
        }
    }
}

pub(super) fn read(f: &mut Form) -> Option<Speech> {
    let plain = Speech::default();
    let line_length = f.count_or("line_length", 30, 70);
    if line_length.value > 250 {
        f.note(
            Diagnostic::at(
                line_length.span.clone(),
                "`line_length` is longer than any controller is sure to read",
            )
            .help("write at most 250; many small controllers hold 79"),
        );
    }
    let unit =
        f.choice_or_first("writes_in", &[("mm", Unit::Millimetre), ("in", Unit::Inch)]).value;
    // No place may be rounded by more than the checker lets pass.
    let (least, most) = if unit == Unit::Inch { (4, 6) } else { (3, 5) };
    let decimals = f.count_or("decimals", 0, least);
    if !(least..=most).contains(&decimals.value) {
        f.note(
            Diagnostic::at(
                decimals.span.clone(),
                format!("`decimals` is {}, which is too coarse or too fine", decimals.value),
            )
            .help(format!(
                "write {least} to {most}: 3 or more in millimetres, 4 or more in inches"
            )),
        );
    }
    let start = lines(f, "start", line_length.value);
    let end = lines(f, "end", line_length.value);
    let speech = Speech {
        writes: f
            .choice_or_first("writes", &[("gcode", Language::Gcode), ("hpgl", Language::Hpgl)])
            .value,
        comments: f
            .choice_or_first(
                "comments",
                &[
                    ("parentheses", Comments::Parentheses),
                    ("semicolon", Comments::Semicolon),
                    ("none", Comments::None),
                ],
            )
            .value,
        drill_cycle: f.yes_or_no_or("drill_cycle", plain.drill_cycle),
        arcs: f.yes_or_no_or("arcs", plain.arcs),
        arc_words: f
            .choice_or_first("arc_words", &[("IJ", ArcWords::Centre), ("R", ArcWords::Radius)])
            .value,
        arc_tolerance: f.length_or("arc_tolerance", Within::Positive, plain.arc_tolerance).value,
        chord_error: f.length_or("chord_error", Within::Positive, plain.chord_error).value,
        tool_change: f
            .choice_or_first("tool_change", &[("pause", ToolChange::Pause), ("M6", ToolChange::M6)])
            .value,
        length_offset: f.yes_or_no_or("length_offset", plain.length_offset),
        tool_change_minutes: f
            .number_or("tool_change_minutes", Within::Between(0.0, 60.0), plain.tool_change_minutes)
            .value,
        dwell: f
            .choice_or_first(
                "dwell",
                &[("seconds", Dwell::Seconds), ("milliseconds", Dwell::Milliseconds)],
            )
            .value,
        line_length: line_length.value as usize,
        unit,
        decimals: decimals.value as usize,
        line_numbers: f.yes_or_no_or("line_numbers", plain.line_numbers),
        percent: f.yes_or_no_or("percent", plain.percent),
        end_word: f
            .choice_or_first("end_word", &[("M2", EndWord::M2), ("M30", EndWord::M30)])
            .value,
        start,
        end,
    };
    Some(speech)
}

/// The workshop's own lines. What they say is the rehearsal's to judge; here only that they are lines.
fn lines(f: &mut Form, key: &'static str, longest: u32) -> Vec<String> {
    let given = f.texts(key);
    for Given { value: line, span } in &given {
        let plain = line.chars().all(|c| c.is_ascii_graphic() || c == ' ');
        if line.trim().is_empty() || !plain || line.len() > longest as usize {
            f.note(
                Diagnostic::at(span.clone(), format!("`{key}` has a line that no controller reads"))
                    .help(format!(
                        "write plain words for the controller, at most {longest} characters a line, such as \"M8\""
                    )),
            );
        }
    }
    given.into_iter().map(|line| line.value).collect()
}
