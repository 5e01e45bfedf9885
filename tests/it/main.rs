//! One test binary; each module is one kind of test.

mod cli;
mod cover;
mod dangers;
mod demo;
mod dxf;
mod edges;
mod gcode;
mod golden;
mod messages;
mod property;
mod published;
mod readme;
mod sabotage;
mod show;
mod sim;
mod tidy;
mod tokens;
mod tricky;
mod units;
mod route;
