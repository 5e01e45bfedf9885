//! G-code text: blocks with their spans.
