//! What the whole order takes, counted from the job and its layout.

use crate::{job::Job, layout::Layout};
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
    /// Length of cloth off the roll.
    pub cloth_m: f64,
    pub lining_mm: [f64; 2],
    /// Tack strip; as much again of welt or piping, where the edge has one.
    pub tack_strip_m: f64,
    pub staples: u32,
}

pub fn materials(job: &Job, layout: &Layout) -> Materials {
    let n = job.quantity;
    let buttons = n * layout.buttons.len() as u32;
    let through = job.foam.thickness + job.wadding + job.board.thickness;
    let twine = TWINE.max(2.0 * through + TWINE_TO_TIE);
    let [w, h] = layout.board.size;
    let around = layout.outline.perimeter();
    Materials {
        panels: n,
        buttons,
        spare_buttons: buttons.div_ceil(SPARE_IN).max(2),
        button_mm: job.button_diameter,
        twine_each_mm: twine,
        twine_m: f64::from(buttons) * twine / 1000.0,
        boards: n,
        board_mm: [w, h, job.board.thickness],
        foams: n,
        foam_mm: [w, h, job.foam.thickness],
        wadding_mm: (job.wadding > 0.0).then_some([w, h, job.wadding]),
        covers: n,
        cover_mm: layout.cover.cut,
        cloth_m: layout.cover.roll.length / 1000.0,
        lining_mm: [w + LINING_BEYOND, h + LINING_BEYOND],
        tack_strip_m: f64::from(n) * (around + STRIP_OVER) / 1000.0,
        staples: n * 2 * (around / STAPLES_APART).ceil() as u32,
    }
}
