//! What people and scripts are shown: nothing here computes a coordinate a second time.

mod bed;
mod cover;
mod drawing;
mod html;
mod materials;
mod panel;
mod preview;
mod report;
mod roll;
mod screen;
mod sheet;
mod tape;
mod template;

pub use materials::{Materials, materials};
pub use preview::{Foreign, preview};
pub use screen::fits;
pub use template::Template;

use crate::{job::Job, layout::Layout, program::Program};

/// All that a page or report is made from.
pub struct Shown<'a> {
    pub job: &'a Job,
    pub layout: &'a Layout,
    pub programs: &'a [Program],
}
