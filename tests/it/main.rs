//! One test binary; each module is one kind of test.

mod areas;
mod cli;
mod cover;
mod dangers;
mod demo;
mod dxf;
mod edges;
mod gcode;
mod following;
mod golden;
mod hands;
mod import;
mod messages;
mod property;
mod published;
mod readme;
mod route;
mod sabotage;
mod shapes;
mod show;
mod sim;
mod tidy;
mod tokens;
mod tricky;
mod units;
