//! `[board]`: its thickness and holes, and whether the machine cuts it out of a larger sheet.

use super::{Board, BoardHole, CutOut, CutWay, Engraved, FaceUp, Locating};
use crate::{
    diag::{Diagnostic, Given},
    form::{Form, Within},
};

/// What a sheet is larger than the panel on every side, mm: room for the cutter and for clamps beyond it. Common
/// practice, no source.
const MARGIN: f64 = 30.0;
/// Bridges, how long they are and how high, mm: common practice, no source.
const TABS: u32 = 6;
const TAB_LENGTH: f64 = 10.0;
const TAB_HEIGHT: f64 = 3.0;
/// Height of engraved letters and their depth, mm: common practice, no source.
const LETTERS: f64 = 30.0;
const LETTERS_DEEP: f64 = 1.0;

pub(super) fn read(f: &mut Form) -> Option<Board> {
    let thickness = f.length("thickness", Within::Positive).value;
    let board = Board {
        thickness,
        hole: f.length("hole", Within::Positive),
        face_up: f
            .choice_or_first("face_up", &[("front", FaceUp::Front), ("back", FaceUp::Back)])
            .value,
        tolerance: f.length_or("tolerance", Within::Positive, 1.0).value,
        holes: f.tables("holes", |f| Some(hole(f, thickness))),
        cut_out: cut_out(f, thickness),
        engraved: engraved(f, thickness),
        locating: f.table_if("locating", locating),
    };
    Some(board)
}

/// `[board.locating]`: holes for dowels.
fn locating(f: &mut Form) -> Option<Locating> {
    let hole = f.length("hole", Within::Positive).value;
    let at = f.points("at", "[[-900, 340], [-900, -340]]").into_iter();
    let at = at.map(|at| Given { value: [at.value[0], at.value[1]], span: at.span }).collect();
    Some(Locating { hole, at })
}

fn hole(f: &mut Form, thickness: f64) -> BoardHole {
    let hole = BoardHole {
        reason: f.text("reason").value,
        at: f.place("at").value,
        diameter: f.length("diameter", Within::Positive),
        depth: f.length_if("depth", Within::Positive),
        span: f.span(),
    };
    if let Some(depth) = &hole.depth
        && depth.value >= thickness
    {
        f.note(
            Diagnostic::at(depth.span.clone(), "the hole is as deep as the board is thick")
                .help("leave `depth` out for a hole right through, or write less"),
        );
    }
    hole
}

/// `true`, or a table of how it is done.
fn cut_out(f: &mut Form, thickness: f64) -> Option<CutOut> {
    let ask = |f: &mut Form| {
        let ways = [("conventional", CutWay::Conventional), ("climb", CutWay::Climb)];
        let cut_out = CutOut {
            margin: f.length_or("margin", Within::Positive, MARGIN).value,
            cut: f.choice_or_first("cut", &ways).value,
            tabs: f.count_or("tabs", 0, TABS).value,
            tab_length: f.length_or("tab_length", Within::Positive, TAB_LENGTH).value,
            tab_height: f.length_or(
                "tab_height",
                Within::Positive,
                TAB_HEIGHT.min(thickness / 2.0),
            ),
            span: f.span(),
        };
        if cut_out.tabs > 0 && cut_out.tab_height.value >= thickness {
            f.note(
                Diagnostic::at(
                    cut_out.tab_height.span.clone(),
                    "the tabs are as high as the board is thick",
                )
                .help("write less, so that a groove is cut over them"),
            );
        }
        Some(cut_out)
    };
    if f.is_table("cut_out") {
        return f.table_if("cut_out", ask);
    }
    let span = f.span();
    let plain = CutOut {
        margin: MARGIN,
        cut: CutWay::Conventional,
        tabs: TABS,
        tab_length: TAB_LENGTH,
        tab_height: Given { value: TAB_HEIGHT.min(thickness / 2.0), span: span.clone() },
        span,
    };
    f.yes_or_no_or("cut_out", false).then_some(plain)
}

fn engraved(f: &mut Form, thickness: f64) -> Option<Engraved> {
    let height = f.length_or("engraved_height", Within::Between(8.0, 300.0), LETTERS).value;
    let depth = f.length_or("engraved_depth", Within::Positive, LETTERS_DEEP.min(thickness / 4.0));
    let words = f.text_if("engraved")?;
    if depth.value > thickness / 2.0 {
        f.note(
            Diagnostic::at(
                depth.span.clone(),
                "the letters would be deeper than half of the board",
            )
            .help(format!("write at most {} mm; 1 mm is easily read", thickness / 2.0)),
        );
    }
    if words.value.trim().is_empty() {
        f.note(
            Diagnostic::at(words.span.clone(), "there is nothing to engrave")
                .help("write a name, or leave `engraved` out"),
        );
    }
    Some(Engraved { words, height, depth })
}
