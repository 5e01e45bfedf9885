//! `[fabric]`: the cloth as the job file gives it.

use super::*;

/// What is left beyond a seam where the file says nothing, mm. Common practice: half an inch.
const SEAM: f64 = 13.0;
/// A cross long enough to find and short enough to hide, mm.
const MARK: f64 = 12.0;
/// What irregular work may be strained where the file says nothing, per cent.
const EASE: f64 = 2.0;

pub(super) fn fabric(f: &mut Form, foam_hole: f64) -> Option<Fabric> {
    let roll_width = f.length("roll_width", Within::Positive);
    let pile = f.choice_or_first("pile", &[("down", Pile::Down), ("none", Pile::None)]).value;
    let turned = f
        .choice_or_first("turned", &[("upright", Turned::Upright), ("sideways", Turned::Sideways)]);
    if (pile, turned.value) == (Pile::Down, Turned::Sideways) {
        f.note(
            Diagnostic::at(turned.span.clone(), "pile cloth is not turned sideways: the pile would run across the panel")
                .help("write turned = \"upright\" and let the cover be joined, or pile = \"none\" if the cloth has none"),
        );
    }
    let seam = f.length_or("seam", Within::Positive, SEAM);
    let turn_in = f.length("turn_in", Within::NotNegative).value;
    let pleat_lines = match f.yes_or_no_or("pleat_lines", false) {
        true => PleatLines::Drawn,
        false => PleatLines::LeftOut,
    };
    let mark = Mark {
        shape: f
            .choice_or_first("mark", &[("cross", MarkShape::Cross), ("dot", MarkShape::Dot)])
            .value,
        size: f.length_or("mark_size", Within::Between(2.0, 50.0), MARK).value,
    };
    let names = f.choice_or_first(
        "button_names",
        &[
            ("row ends", ButtonNames::RowEnds),
            ("all", ButtonNames::All),
            ("none", ButtonNames::LeftOut),
        ],
    );
    let edge_fullness = edge_fullness(f);
    let stretch = f.table_if("stretch", |f| {
        let ways = ["across", "down"].map(|key| (key, f.number_or(key, Within::NotNegative, 0.0)));
        for (key, stretch) in ways.iter().filter(|(_, stretch)| stretch.value > MOST_STRETCH) {
            f.note(
                Diagnostic::at(
                    stretch.span.clone(),
                    format!("a stretch of {} % {key} is a stocking's, not a cover's", stretch.value),
                )
                .help(format!("write how far the cloth gives under the hand, in per cent: {MOST_STRETCH} at the most")),
            );
        }
        Some(ways.map(|(_, stretch)| stretch.value))
    });
    let ease = f.number_or("ease", Within::Between(0.0, MOST_STRETCH), EASE).value;
    let motif =
        f.choice_or_first("motif", &[("diamond", Motif::Diamond), ("button", Motif::Button)]);
    let repeat = f.table_if("repeat", |f| {
        let across = f.length("across", Within::Positive);
        let down = f.length("down", Within::Positive);
        let from_edge = f.length_or("from_edge", Within::NotNegative, across.value / 2.0).value;
        Some(Repeat { across, down, from_edge, motif: motif.value })
    });
    if repeat.is_none() && !f.present(&["motif"]).is_empty() && f.present(&["repeat"]).is_empty() {
        f.note(
            Diagnostic::at(
                motif.span,
                "`motif` says where a repeat is to lie, and no repeat is given",
            )
            .help("add repeat = { across = …, down = … }, or leave `motif` out"),
        );
    }
    let allowance = f.table("allowance", |f| allowance(f, foam_hole));
    Some(Fabric {
        roll_width,
        pile,
        turned,
        seam,
        turn_in,
        pleat_lines,
        mark,
        names: names.value,
        allowance: allowance?,
        edge_fullness,
        stretch: stretch.unwrap_or([0.0; 2]),
        ease,
        repeat,
    })
}

/// `"half"`, `"whole"`, or `{ sides = …, top = …, bottom = … }`.
fn edge_fullness(f: &mut Form) -> EdgeFullness {
    if f.is_table("edge_fullness") {
        let table = f.table_if("edge_fullness", |f| {
            let mut side = |key| f.length(key, Within::NotNegative).value;
            Some(EdgeFullness::Given {
                sides: side("sides"),
                top: side("top"),
                bottom: side("bottom"),
            })
        });
        return table.expect("`is_table` said that the key holds a table");
    }
    f.choice_or_first(
        "edge_fullness",
        &[("half", EdgeFullness::Half), ("whole", EdgeFullness::Whole)],
    )
    .value
}

/// `[fabric.allowance.METHOD]`: exactly one.
fn allowance(f: &mut Form, foam_hole: f64) -> Option<Allowance> {
    let measured = f.table_if("measured", |f| {
        let across = f.length_or_list("across", Within::NotNegative);
        let down = f.length_or_list("down", Within::NotNegative);
        Some(Allowance::Measured { across, down })
    });
    let depth = f.table_if("depth", |f| {
        let factor = f.number_or("factor", Within::Between(0.5, 2.0), 1.0);
        Some(Allowance::Depth { factor })
    });
    let hole = f.table_if("hole", |f| {
        let radius = f.length_or("radius", Within::Positive, foam_hole / 2.0).value;
        let seat = f.length("seat", Within::Positive);
        Some(Allowance::Hole { radius, seat })
    });
    let mut methods = [measured, depth, hole].into_iter().flatten();
    let method = methods.next();
    if methods.next().is_some() {
        f.note(
            Diagnostic::at(f.span(), "the allowance is given in more than one way")
                .help("keep one of [fabric.allowance.measured], [fabric.allowance.depth] and [fabric.allowance.hole]"),
        );
    }
    if method.is_none() && f.present(&["measured", "depth", "hole"]).is_empty() {
        f.note(
            Diagnostic::at(f.span(), "the allowance is missing").help(
                "add [fabric.allowance.measured] with across and down, or [fabric.allowance.depth] with a factor",
            ),
        );
    }
    method
}
