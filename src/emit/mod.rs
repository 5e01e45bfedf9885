//! Plans and layouts written down: G-code and HP-GL/2 for machines, DXF for people with other programs.
//!
//! Nothing here is trusted: the checker reads back every byte.

pub mod drawings;
pub mod dxf;
pub mod gcode;
pub mod hpgl;
