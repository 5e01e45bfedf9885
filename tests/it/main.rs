//! One test binary; each module is one kind of test.

mod demo;
mod published;
mod units;
