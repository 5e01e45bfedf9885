//! A bar for whoever waits longer than half a second at a terminal.

use super::Shared;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::{
    io::{self, IsTerminal},
    sync::mpsc::{self, RecvTimeoutError, Sender},
    thread::{self, JoinHandle},
    time::Duration,
};

/// Sooner than this nobody has begun to wait.
const PATIENCE: Duration = Duration::from_millis(500);

/// Shown on standard error, if that is a terminal and words are wanted there at all. Gone without a trace
/// when it is dropped.
pub struct Progress {
    bar: Option<Shown>,
    /// One job alone shows its steps; of several, how many are done.
    alone: bool,
}

struct Shown {
    bar: ProgressBar,
    done: Sender<()>,
    waits: JoinHandle<()>,
}

impl Progress {
    /// For so many jobs.
    pub fn jobs(shared: &Shared, of: usize) -> Progress {
        let template = match of {
            1 => "{spinner} {msg}, {elapsed}",
            _ => "{spinner} {wide_bar} {pos} of {len} jobs, {elapsed}",
        };
        Progress { bar: Shown::after_a_while(shared, of as u64, template), alone: of == 1 }
    }

    /// For work of which a share is done: bytes read, or a task that knows how far it has come.
    pub fn share(shared: &Shared, whole: u64) -> Progress {
        let template = "{spinner} {wide_bar} {percent} %, {eta} to go";
        Progress { bar: Shown::after_a_while(shared, whole, template), alone: true }
    }

    pub fn step(&self, words: &str) {
        if let Some(shown) = self.bar.as_ref().filter(|_| self.alone) {
            shown.bar.set_message(words.to_string());
        }
    }

    pub fn job_done(&self) {
        if let Some(shown) = &self.bar {
            shown.bar.inc(1);
        }
    }

    pub fn at(&self, position: u64) {
        if let Some(shown) = &self.bar {
            shown.bar.set_position(position);
        }
    }
}

impl Shown {
    fn after_a_while(shared: &Shared, of: u64, template: &str) -> Option<Shown> {
        if shared.quiet || shared.json || !io::stderr().is_terminal() {
            return None;
        }
        let bar = ProgressBar::with_draw_target(Some(of), ProgressDrawTarget::hidden());
        bar.set_style(ProgressStyle::with_template(template).expect("the template is well formed"));
        let (done, is_done) = mpsc::channel();
        let later = bar.clone();
        let waits = thread::spawn(move || {
            if is_done.recv_timeout(PATIENCE) == Err(RecvTimeoutError::Timeout) {
                later.set_draw_target(ProgressDrawTarget::stderr());
                later.enable_steady_tick(Duration::from_millis(100));
                let _ = is_done.recv();
            }
            later.finish_and_clear();
        });
        Some(Shown { bar, done, waits })
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        if let Some(Shown { done, waits, .. }) = self.bar.take() {
            let _ = done.send(());
            let _ = waits.join();
        }
    }
}
