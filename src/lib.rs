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

#![forbid(unsafe_code)]

pub mod units;
pub mod words;
pub mod frame;
pub mod diag;
pub mod form;
pub mod notice;
pub mod machine;
pub mod job;
pub mod outline;
pub mod layout;
pub mod route;
pub mod plan;
pub mod emit;
pub mod gcode;
pub mod sim;
pub mod verify;
pub mod program;
pub mod paper;
pub mod show;
pub mod ask;
pub mod make;
pub mod cli;
