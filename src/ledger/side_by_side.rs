//! The same thing for many, with as many processors as there are: what comes of it is the same with one.

use std::panic::resume_unwind;
use std::thread;

/// What comes of each, in their order. Where it is so little that threads don't pay, or there are none, it is done one
/// after the other.
pub(crate) fn side_by_side<T: Sync, R: Send>(pays: bool, all: &[T], of: impl Fn(&T) -> R + Sync) -> Vec<R> {
    // To ask for their number reads files of the system, which a small plan needn't wait for.
    let at_once = if pays && all.len() > 1 { thread::available_parallelism().map_or(1, usize::from) } else { 1 };
    if at_once == 1 {
        return all.iter().map(of).collect();
    }
    thread::scope(|scope| {
        let (of, part) = (&of, all.len().div_ceil(at_once));
        let running: Vec<_> =
            all.chunks(part).map(|part| scope.spawn(move || part.iter().map(of).collect::<Vec<R>>())).collect();
        running.into_iter().flat_map(|one| one.join().unwrap_or_else(|panic| resume_unwind(panic))).collect()
    })
}
