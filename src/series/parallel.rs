//! Work on many files at once.

use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Results of `work` on each of `items`, in their order, from up to `threads` threads.
pub(crate) fn in_parallel<T: Sync, R: Send>(
    threads: usize,
    items: &[T],
    work: impl Fn(&T) -> R + Sync,
) -> Vec<R> {
    if items.len() < 2 || threads < 2 {
        return items.iter().map(work).collect();
    }
    let next = AtomicUsize::new(0);
    let done = Mutex::new(Vec::with_capacity(items.len()));
    std::thread::scope(|scope| {
        for _ in 0..threads.min(items.len()) {
            scope.spawn(|| {
                loop {
                    let index = next.fetch_add(1, Ordering::Relaxed);
                    let Some(item) = items.get(index) else { break };
                    let result = work(item);
                    done.lock()
                        .expect("no thread panics while it pushes a result")
                        .push((index, result));
                }
            });
        }
    });
    let mut done = done
        .into_inner()
        .expect("a panic of a thread ends the scope before this line");
    done.sort_unstable_by_key(|(index, _)| *index);
    done.into_iter().map(|(_, result)| result).collect()
}

/// Threads for work that keeps a core busy.
pub(crate) fn cores() -> usize {
    std::thread::available_parallelism().map_or(1, usize::from).min(8)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn results_come_in_the_order_of_the_items() {
        let items: Vec<u64> = (0..1000).collect();
        let squares: Vec<u64> = items.iter().map(|i| i * i).collect();
        for threads in [1, 2, 7] {
            assert_eq!(in_parallel(threads, &items, |i| i * i), squares);
        }
    }
}
