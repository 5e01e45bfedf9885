//! How far a long rehearsal has come, for a person at a terminal.
//!
//! The clock decides when something is said, and never what is found.

use std::{
    io::{self, IsTerminal, Read, Write},
    time::{Duration, Instant},
};

/// Nothing is said of a rehearsal that takes no longer than this.
const PATIENCE: Duration = Duration::from_millis(500);
/// And then not more often than this.
const BETWEEN: Duration = Duration::from_millis(100);

/// Passes a file on, and says on standard error how much of it has been read.
pub struct Watched<R> {
    input: R,
    read: u64,
    /// Bytes; 0 where nobody knows.
    size: u64,
    screen: Option<Screen>,
}

/// A terminal that is to be written to.
struct Screen {
    next: Instant,
    /// Letters of the line that stands there.
    width: usize,
}

impl<R: Read> Watched<R> {
    /// Says nothing where standard error is no terminal, or `quietly`.
    #[expect(clippy::disallowed_methods, reason = "when to speak, not what to say")]
    pub fn new(input: R, size: u64, quietly: bool) -> Self {
        let speaks = !quietly && io::stderr().is_terminal();
        let screen = speaks.then(|| Screen { next: Instant::now() + PATIENCE, width: 0 });
        Watched { input, read: 0, size, screen }
    }
}

impl<R: Read> Read for Watched<R> {
    #[expect(clippy::disallowed_methods, reason = "when to speak, not what to say")]
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let count = self.input.read(buffer)?;
        self.read += count as u64;
        if let Some(screen) = &mut self.screen {
            let now = Instant::now();
            if now >= screen.next {
                screen.next = now + BETWEEN;
                screen.show(&line(self.read, self.size));
            }
        }
        Ok(count)
    }
}

impl<R> Drop for Watched<R> {
    /// Leaves the line as it was found.
    fn drop(&mut self) {
        if let Some(screen) = &mut self.screen
            && screen.width > 0
        {
            screen.show("");
            let _ = io::stderr().write_all(b"\r");
        }
    }
}

impl Screen {
    fn show(&mut self, line: &str) {
        let width = self.width;
        self.width = line.len();
        // A terminal that is gone is no reason to stop.
        let _ = write!(io::stderr(), "\r{line:width$}");
    }
}

fn line(read: u64, size: u64) -> String {
    match (read * 100).checked_div(size) {
        Some(part) => format!("rehearsing: {:2} %", part.min(100)),
        None => format!("rehearsing: {} MB read", read / 1_000_000),
    }
}
