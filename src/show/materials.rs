//! What the whole order takes, counted from the job and its layout.

use crate::{
    job::{Job, PatternKind},
    layout::{Layout, piece_letter},
    words::both,
};
use serde::Serialize;

/// Twine a button takes at the least, mm. Published by makers' guides: about 600 mm, doubled.
const TWINE: f64 = 600.0;
/// What the hands need beyond twice the way through, mm (derived: enough to tie behind the board).
const TWINE_TO_TIE: f64 = 300.0;

/// One spare button in so many, and never fewer than two: common practice, no source.
const SPARE_IN: u32 = 20;
/// Back lining and the strip that keeps the turned edge straight go so much beyond the outline or its
/// length, to be turned under or cut to fit, mm: common practice, no source.
const LINING_BEYOND: f64 = 20.0;
const STRIP_OVER: f64 = 100.0;
/// From staple to staple, mm; one row holds the cover, one the lining: common practice, no source.
const STAPLES_APART: f64 = 25.0;

/// For `quantity` panels together, sizes of one piece in millimetres.
#[derive(Debug, Clone, Serialize)]
pub struct Materials {
    pub panels: u32,
    pub buttons: u32,
    /// Besides.
    pub spare_buttons: u32,
    pub button_mm: f64,
    /// Length of one button's twine.
    pub twine_each_mm: f64,
    pub twine_m: f64,
    pub boards: u32,
    /// Width, height, thickness.
    pub board_mm: [f64; 3],
    pub foams: u32,
    pub foam_mm: [f64; 3],
    pub wadding_mm: Option<[f64; 3]>,
    pub covers: u32,
    pub cover_mm: [f64; 2],
    /// Length of cloth to buy.
    pub cloth_m: f64,
    pub lining_mm: [f64; 2],
    /// Tack strip; as much again of welt or piping, where the edge has one.
    pub tack_strip_m: f64,
    pub staples: u32,
    /// What is cut first, second …
    pub cutting_order: Vec<Cutting>,
}

/// So many pieces of one size, cut from one thing.
#[derive(Debug, Clone, Serialize)]
pub struct Cutting {
    pub what: String,
    pub from: String,
    pub pieces: u32,
    /// Width and height; length alone where it is cut off a coil.
    pub size_mm: Vec<f64>,
}

pub fn materials(job: &Job, layout: &Layout) -> Materials {
    let n = job.quantity;
    let ties = n * layout.buttons.len() as u32;
    // A groove is tied without a button.
    let buttons = if layout.fitted.kind == PatternKind::Flutes { 0 } else { ties };
    let through = job.foam.thickness + job.wadding + job.board.thickness;
    let twine = TWINE.max(2.0 * through + TWINE_TO_TIE);
    let [w, h] = [layout.outline.width(), layout.outline.height()];
    let wadding = [w, h].map(|side| side + 2.0 * job.wadding_overhang);
    let around = layout.outline.perimeter();
    let [foam_w, foam_h] = layout.foam.size;
    let mut all = Materials {
        panels: n,
        buttons,
        spare_buttons: spare_buttons(buttons),
        button_mm: job.button_diameter,
        twine_each_mm: twine,
        twine_m: f64::from(ties) * twine / 1000.0,
        boards: n,
        board_mm: [layout.board.size[0], layout.board.size[1], job.board.thickness],
        foams: n,
        foam_mm: [foam_w, foam_h, job.foam.thickness],
        wadding_mm: (job.wadding > 0.0).then_some([wadding[0], wadding[1], job.wadding]),
        covers: n,
        cover_mm: layout.cover.cut,
        cloth_m: layout.cover.roll.to_buy() / 1000.0,
        lining_mm: [w + LINING_BEYOND, h + LINING_BEYOND],
        tack_strip_m: f64::from(n) * (around + STRIP_OVER) / 1000.0,
        staples: n * 2 * (around / STAPLES_APART).ceil() as u32,
        cutting_order: Vec::new(),
    };
    all.cutting_order = cutting_order(job, layout, &all);
    all
}

/// How many buttons more to have at hand.
pub(super) fn spare_buttons(buttons: u32) -> u32 {
    if buttons == 0 { 0 } else { buttons.div_ceil(SPARE_IN).max(2) }
}

/// Cloth first, for it rests and is marked while the rest is made; then from the back to the front, each
/// to fit what lies under it; what is cut off a coil last. Common practice, no source.
fn cutting_order(job: &Job, layout: &Layout, all: &Materials) -> Vec<Cutting> {
    let n = job.quantity;
    let (cover, roll) = (&layout.cover, &layout.cover.roll);
    let thick = |what: &str, mm: f64| format!("{what}, {} thick", both(mm, job.unit));
    let mut order: Vec<Cutting> = Vec::new();
    let mut cut = |what: String, from: String, pieces: u32, size_mm: Vec<f64>| {
        order.push(Cutting { what, from, pieces, size_mm });
    };
    let off_the_roll = format!("roll of cloth, {} wide", both(roll.width, job.unit));
    let lengths = roll.drops.len() as u32;
    // The last is only as long as a piece, the others end where the next begins.
    let last = roll.length - (roll.drops.len() as f64 - 1.0) * roll.drop_length;
    if (last - roll.drop_length).abs() < 0.05 {
        cut("length".into(), off_the_roll, lengths, vec![roll.width, last]);
    } else {
        if lengths > 1 {
            cut(
                "length".into(),
                off_the_roll.clone(),
                lengths - 1,
                vec![roll.width, roll.drop_length],
            );
        }
        cut("last length".into(), off_the_roll, 1, vec![roll.width, last]);
    }
    for piece in &cover.pieces {
        let what = match piece.part.of {
            1 => "cover".to_string(),
            _ => format!("piece {}", piece_letter(piece.part.number)),
        };
        cut(what, "lengths, as the plan lays them".into(), n, piece.cut.to_vec());
    }
    let layers =
        [("board", Some(all.board_mm)), ("foam", Some(all.foam_mm)), ("wadding", all.wadding_mm)];
    for (what, size) in layers {
        if let Some([w, h, mm]) = size {
            cut(what.into(), thick(what, mm), n, vec![w, h]);
        }
    }
    cut("back lining".into(), "lining".into(), n, all.lining_mm.to_vec());
    let strip = layout.outline.perimeter() + STRIP_OVER;
    cut("tack strip".into(), "coil of tack strip".into(), n, vec![strip]);
    let buttons = n * layout.buttons.len() as u32;
    cut("tie".into(), "twine".into(), buttons, vec![all.twine_each_mm]);
    order
}
