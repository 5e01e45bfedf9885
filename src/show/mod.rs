//! What people and scripts are shown: nothing here computes a coordinate a second time.

mod bed;
mod cover;
mod drawing;
mod html;
mod materials;
mod panel;
mod preview;
mod quote;
mod report;
mod roll;
mod screen;
mod sheet;
mod tape;
mod template;

/// Colours of all pictures.
const PICTURES: &str = include_str!("pictures.css");

pub use materials::{Materials, materials};
pub use preview::{Foreign, preview};
pub use screen::{both_hands, fit_in_short, fits};
pub use template::Template;

use crate::{job::Job, layout::Layout, program::Program};

/// What every picture that stands by itself begins with.
pub const PICTURE_BEGINS: &str =
    "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\"";

impl Shown<'_> {
    /// The finished panel, as a picture that stands by itself.
    pub fn picture(&self) -> String {
        let svg = panel::picture(self.job, self.layout);
        svg.replacen("<svg ", &format!("{PICTURE_BEGINS} "), 1).replacen(
            "<defs>",
            &format!("<style>{PICTURES}</style><defs>"),
            1,
        )
    }
}

/// All that a page or report is made from.
pub struct Shown<'a> {
    pub job: &'a Job,
    pub layout: &'a Layout,
    pub programs: &'a [Program],
}
