//! bradawl: from a panel spec to proven drilling and marking programs.
//!
//! The rooms, in the order a job passes through them:
//!
//! ```text
//! job.toml ─ job ─▶ layout ─▶ plan (route) ─▶ emit ─▶ text ─▶ gcode ─▶ sim ─▶ verify ─▶ saved
//! machine.toml ─ machine ──────────▲─────────────────────────────────────────────▲
//!                                  layout + trace ─▶ show (preview, sheet, report)
//! ```
//!
//! An untrusted writer (`plan`, `emit`) and a small independent checker (`gcode`, `sim`, `verify`)
//! share nothing but the machine file.

pub mod diag;
pub mod frame;
pub mod gcode;
pub mod machine;
pub mod route;
pub mod sim;
pub mod units;
