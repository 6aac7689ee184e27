//! A bounded ring of samples between one writer and one reader, without locks and without allocation.
//!
//! Positions count up for ever and are taken modulo the size. The writer publishes samples by moving `written`
//! after storing them (release), the reader frees room by moving `read` after loading them (release).
//!
//! Invariant: `read <= written <= read + size`.

use std::sync::Arc;
use std::sync::atomic::{AtomicU32, AtomicUsize, Ordering};

struct Shared {
    /// Samples as bits, so that they can be atomic.
    slots: Box<[AtomicU32]>,
    written: AtomicUsize,
    read: AtomicUsize,
}

/// The end that stores.
pub struct Writer(Arc<Shared>);

/// The end that fetches.
pub struct Reader(Arc<Shared>);

/// A ring of `size` samples, at least one.
pub fn ring(size: usize) -> (Writer, Reader) {
    let slots = (0..size.max(1)).map(|_| AtomicU32::new(0)).collect();
    let shared = Arc::new(Shared { slots, written: AtomicUsize::new(0), read: AtomicUsize::new(0) });
    (Writer(Arc::clone(&shared)), Reader(shared))
}

impl Writer {
    /// Stores samples as long as there is room, and gives the number of those that found none.
    pub fn write(&mut self, samples: impl Iterator<Item = f32>) -> u64 {
        let Shared { slots, written, read } = &*self.0;
        let size = slots.len();
        let mut at = written.load(Ordering::Relaxed);
        let end = read.load(Ordering::Acquire).wrapping_add(size);
        let mut lost = 0;
        for sample in samples {
            if at == end {
                lost += 1;
            } else {
                slots[at % size].store(sample.to_bits(), Ordering::Relaxed);
                at = at.wrapping_add(1);
            }
        }
        written.store(at, Ordering::Release);
        lost
    }
}

impl Reader {
    /// Appends all samples that are stored, frees their room, and gives their number.
    pub fn read(&mut self, into: &mut Vec<f32>) -> usize {
        let Shared { slots, written, read } = &*self.0;
        let from = read.load(Ordering::Relaxed);
        let to = written.load(Ordering::Acquire);
        let count = to.wrapping_sub(from);
        into.extend((0..count).map(|i| {
            let slot = &slots[from.wrapping_add(i) % slots.len()];
            f32::from_bits(slot.load(Ordering::Relaxed))
        }));
        read.store(to, Ordering::Release);
        count
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn samples_come_out_in_order_and_the_rest_is_counted() {
        let (mut writer, mut reader) = ring(3);
        let mut out = Vec::new();
        for (written, lost, read) in [
            (vec![1.0, 2.0], 0, vec![1.0, 2.0]),
            (vec![], 0, vec![]),
            (vec![3.0, 4.0, 5.0, 6.0], 1, vec![3.0, 4.0, 5.0]),
            (vec![7.0], 0, vec![7.0]),
        ] {
            assert_eq!(writer.write(written.into_iter()), lost);
            out.clear();
            assert_eq!(reader.read(&mut out), read.len());
            assert_eq!(out, read);
        }
    }

    #[test]
    fn two_threads_lose_nothing_that_is_not_counted() {
        const SENT: u32 = 200_000;
        let (mut writer, mut reader) = ring(1_000);
        let writing = std::thread::spawn(move || {
            let numbers: Vec<u32> = (0..SENT).collect();
            numbers.chunks(64).map(|part| writer.write(part.iter().map(|&n| n as f32))).sum::<u64>()
        });
        let mut out = Vec::new();
        while !writing.is_finished() {
            reader.read(&mut out);
        }
        let lost = writing.join().expect("the writer does not panic");
        reader.read(&mut out);
        assert_eq!(out.len() as u64 + lost, u64::from(SENT));
        assert!(out.windows(2).all(|two| two[0] < two[1]), "out of order");
    }
}
