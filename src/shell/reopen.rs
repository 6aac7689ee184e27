//! Opens a thing that was lost again, on a thread of its own, with growing pauses between the attempts.
//!
//! Invariant: one attempt at a time; nothing here waits for it.

use std::sync::Arc;
use std::sync::mpsc::{self, Receiver, TryRecvError};
use std::thread;
use std::time::{Duration, Instant};

/// The first pause, and the longest.
const PAUSES: (Duration, Duration) = (Duration::from_millis(250), Duration::from_secs(8));

/// Opens again.
pub struct Reopen<T> {
    open: Arc<dyn Fn() -> Option<T> + Send + Sync>,
    attempt: Option<Receiver<Option<T>>>,
    next: Option<Instant>,
    pause: Duration,
}

impl<T: Send + 'static> Reopen<T> {
    /// By calling `open`, which may take long, until it gives the thing.
    pub fn by(open: impl Fn() -> Option<T> + Send + Sync + 'static) -> Self {
        Self { open: Arc::new(open), attempt: None, next: None, pause: PAUSES.0 }
    }

    /// Call it often while the thing is lost; gives the thing once it is open again.
    pub fn poll(&mut self, now: Instant) -> Option<T> {
        if let Some(attempt) = &self.attempt {
            match attempt.try_recv() {
                Ok(Some(thing)) => {
                    self.attempt = None;
                    return Some(thing);
                }
                Err(TryRecvError::Empty) => return None,
                Ok(None) | Err(TryRecvError::Disconnected) => {
                    self.attempt = None;
                    self.next = Some(now + self.pause);
                    self.pause = (self.pause * 2).min(PAUSES.1);
                }
            }
        }
        if self.next.is_none_or(|next| now >= next) {
            let (tell, attempt) = mpsc::sync_channel(1);
            let open = Arc::clone(&self.open);
            // Where nobody waits for it any more, what was opened closes.
            thread::spawn(move || tell.send(open()).unwrap_or(()));
            self.attempt = Some(attempt);
            self.next = Some(now + self.pause);
        }
        None
    }

    /// The thing is well: what is still being opened is dropped, and the next loss starts with the shortest pause.
    pub fn rest(&mut self) {
        self.attempt = None;
        self.next = None;
        self.pause = PAUSES.0;
    }
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicU32, Ordering};

    use super::*;

    /// Polls until the attempt that runs has ended.
    fn settle(reopen: &mut Reopen<u32>, now: Instant) -> Option<u32> {
        loop {
            let found = reopen.poll(now);
            if found.is_some() || reopen.attempt.is_none() {
                return found;
            }
            thread::yield_now();
        }
    }

    #[test]
    fn the_pauses_grow_and_shrink_again() {
        let calls = Arc::new(AtomicU32::new(0));
        let counted = Arc::clone(&calls);
        let mut reopen = Reopen::by(move || Some(counted.fetch_add(1, Ordering::Relaxed)).filter(|&n| n > 2));
        let start = Instant::now();
        let at = |ms| start + Duration::from_millis(ms);
        let tried = |reopen: &mut Reopen<u32>, ms| {
            let found = settle(reopen, at(ms));
            (found, calls.load(Ordering::Relaxed))
        };
        assert_eq!(tried(&mut reopen, 0), (None, 1));
        assert_eq!(tried(&mut reopen, 249), (None, 1), "too early");
        assert_eq!(tried(&mut reopen, 250), (None, 2));
        assert_eq!(tried(&mut reopen, 700), (None, 2), "too early");
        assert_eq!(tried(&mut reopen, 750), (None, 3));
        assert_eq!(tried(&mut reopen, 1_750), (Some(3), 4));
        reopen.rest();
        assert_eq!(tried(&mut reopen, 1_751), (Some(4), 5), "at once");
    }
}
