//! A rehearsal: blocks and a machine, moves with times, rule breaks by line.
