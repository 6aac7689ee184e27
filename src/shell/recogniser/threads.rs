//! How many threads the encoder gets.
//!
//! whisper.cpp's threads wait for each other by spinning: where another program keeps a core busy, two threads can
//! take ten times as long as one. So the count falls to one when encoding takes far longer than it has been seen to,
//! and several are tried again after a while, which grows each time that it was too early.

use std::collections::BTreeMap;
use std::time::Duration;

/// Chooses a number of threads by how long the last encodings took.
#[derive(Clone, Debug)]
pub struct Threads {
    most: usize,
    /// By window: the shortest time seen with all threads.
    shortest: BTreeMap<u32, Duration>,
    /// So many encodings are still done by one thread.
    alone: u32,
    /// And so many the next time that several are too slow.
    next: u32,
}

impl Threads {
    /// Encoding is slowed by others when it takes so many times the shortest time seen.
    const SLOWED: u32 = 3;
    /// Then so many encodings are done by one thread, the first time and at most.
    const ALONE: (u32, u32) = (12, 384);

    /// At most so many.
    pub fn at_most(most: usize) -> Self {
        Self { most: most.max(1), shortest: BTreeMap::new(), alone: 0, next: Self::ALONE.0 }
    }

    /// How many to use now.
    pub const fn now(&self) -> usize {
        if self.alone > 0 { 1 } else { self.most }
    }

    /// Learns how long encoding a window took with the number that [`Self::now`] gave.
    pub fn took(&mut self, window: u32, time: Duration) {
        if self.alone > 0 {
            self.alone -= 1;
            return;
        }
        let shortest = self.shortest.entry(window).or_insert(time);
        *shortest = time.min(*shortest);
        if self.most == 1 {
            return;
        }
        if time > *shortest * Self::SLOWED {
            self.alone = self.next;
            self.next = (self.next * 2).min(Self::ALONE.1);
        } else {
            self.next = Self::ALONE.0.max(self.next / 2);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_thread_while_others_are_busy() {
        let mut threads = Threads::at_most(2);
        for ms in [50, 60, 55, 140] {
            threads.took(224, Duration::from_millis(ms));
            assert_eq!(threads.now(), 2, "{ms} ms");
        }
        threads.took(224, Duration::from_millis(900));
        for _ in 0..12 {
            assert_eq!(threads.now(), 1);
            threads.took(224, Duration::from_millis(100));
        }
        assert_eq!(threads.now(), 2, "tried again");
        // Too early: the next try comes later.
        threads.took(224, Duration::from_millis(900));
        for _ in 0..24 {
            assert_eq!(threads.now(), 1);
            threads.took(224, Duration::from_millis(100));
        }
        assert_eq!(threads.now(), 2, "tried again");
        // Every window has its own time.
        threads.took(400, Duration::from_millis(200));
        assert_eq!(threads.now(), 2);
    }
}
