//! One test binary; each module is one kind of test.

mod demo;
mod messages;
mod published;
mod tidy;
mod units;
