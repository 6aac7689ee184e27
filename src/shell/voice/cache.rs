//! Lines already rendered, up to a number of samples. The oldest leave first.

use std::collections::{BTreeMap, VecDeque};
use std::sync::Arc;

use super::{Manner, Sound};

/// Manner, steps of loudness, text.
type Key = (Manner, u8, Arc<str>);

/// Sounds by manner and text.
#[derive(Debug)]
pub struct Cache {
    most: usize,
    held: usize,
    sounds: BTreeMap<Key, Arc<Sound>>,
    order: VecDeque<Key>,
}

impl Cache {
    /// An empty cache of at most `most` samples.
    pub fn new(most: usize) -> Self {
        Self { most, held: 0, sounds: BTreeMap::new(), order: VecDeque::new() }
    }

    /// The sound kept for a line.
    pub fn get(&self, manner: Manner, steps: u8, text: &str) -> Option<Arc<Sound>> {
        self.sounds.get(&(manner, steps, Arc::from(text))).cloned()
    }

    /// Keeps a sound that is not yet kept, and lets the oldest go. One that is larger than the cache is not kept.
    pub fn put(&mut self, manner: Manner, steps: u8, text: &str, sound: Arc<Sound>) {
        let size = sound.samples.len();
        let key: Key = (manner, steps, Arc::from(text));
        if size > self.most || self.sounds.contains_key(&key) {
            return;
        }
        while self.held + size > self.most {
            let oldest = self.order.pop_front().expect("a cache that holds samples holds a sound");
            let gone = self.sounds.remove(&oldest).expect("every key in order is kept");
            self.held -= gone.samples.len();
        }
        self.held += size;
        self.sounds.insert(key.clone(), sound);
        self.order.push_back(key);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_oldest_leave_first() {
        let mut cache = Cache::new(10);
        let mut put = |text, size| {
            cache.put(Manner::Routine, 0, text, Arc::new(Sound { rate: 8000, samples: vec![0; size] }));
        };
        put("one", 4);
        put("two", 4);
        put("one", 4);
        put("three", 4);
        put("too large", 11);
        let kept = |text| cache.get(Manner::Routine, 0, text).is_some();
        assert_eq!(
            ["one", "two", "three", "too large"].map(kept),
            [false, true, true, false],
            "held {}",
            cache.held
        );
        assert!(cache.get(Manner::Hazard, 0, "two").is_none(), "the manners are kept apart");
        assert!(cache.get(Manner::Routine, 1, "two").is_none(), "and so is how loud they are");
        assert_eq!(cache.held, 8);
    }
}
