//! One test binary; each module is one kind of test.
