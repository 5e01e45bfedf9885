//! The same work on many things at once, answers in the order of the things.

use std::{
    sync::{
        Mutex,
        atomic::{AtomicUsize, Ordering},
    },
    thread,
};

/// `work` on each of `things`, on as many threads as the machine has. The answers do not depend on how many.
pub fn map<T: Sync, R: Send>(things: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let threads = thread::available_parallelism().map_or(1, usize::from).min(things.len());
    let answers: Vec<Mutex<Option<R>>> = things.iter().map(|_| Mutex::new(None)).collect();
    let next = AtomicUsize::new(0);
    thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                loop {
                    let i = next.fetch_add(1, Ordering::Relaxed);
                    let Some(thing) = things.get(i) else { break };
                    let answer = work(thing);
                    *answers[i].lock().expect("no other thread holds it") = Some(answer);
                }
            });
        }
    });
    let answer = |cell: Mutex<Option<R>>| cell.into_inner().ok().flatten();
    answers.into_iter().map(|cell| answer(cell).expect("every thing was worked on")).collect()
}
