//! One test binary; each module is one kind of test.

mod cli;
mod demo;
mod dxf;
mod golden;
mod messages;
mod property;
mod published;
mod sabotage;
mod tidy;
mod units;
mod route;
