//! What the whole order takes, counted from the job and its layout.

use crate::{job::Job, layout::Layout};
use serde::Serialize;

/// Twine a button takes at the least, mm. Published by makers' guides: about 600 mm, doubled.
const TWINE: f64 = 600.0;
/// What the hands need beyond twice the way through, mm (derived: enough to tie behind the board).
const TWINE_TO_TIE: f64 = 300.0;

/// For `quantity` panels together, sizes of one piece in millimetres.
#[derive(Debug, Clone, Serialize)]
pub struct Materials {
    pub panels: u32,
    pub buttons: u32,
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
}

pub fn materials(job: &Job, layout: &Layout) -> Materials {
    let n = job.quantity;
    let buttons = n * layout.buttons.len() as u32;
    let through = job.foam.thickness + job.wadding + job.board.thickness;
    let twine = TWINE.max(2.0 * through + TWINE_TO_TIE);
    let [w, h] = layout.board.size;
    Materials {
        panels: n,
        buttons,
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
    }
}
