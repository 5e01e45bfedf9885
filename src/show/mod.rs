//! What people and scripts are shown: nothing here computes a coordinate a second time.

mod bed;
mod html;
mod materials;
mod panel;
mod preview;
mod report;
mod screen;
mod sheet;
mod tape;

pub use materials::{Materials, materials};
pub use screen::fits;

use crate::{job::Job, layout::Layout, program::Program};

/// All that a page or report is made from.
pub struct Shown<'a> {
    pub job: &'a Job,
    pub layout: &'a Layout,
    pub programs: &'a [Program],
}
