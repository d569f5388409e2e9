//! What was reckoned is kept while the book stays as it is: a mark that moves must answer at once.

use std::sync::{Arc, Mutex, PoisonError};

/// The last few things reckoned, by what they hang on.
#[derive(Debug)]
pub(crate) struct Kept<K, V> {
    all: Mutex<Vec<(K, Arc<V>)>>,
}

/// How many are kept: a house has a handful of stills and makes.
const MOST: usize = 12;

impl<K, V> Default for Kept<K, V> {
    fn default() -> Self {
        Self { all: Mutex::new(Vec::new()) }
    }
}

impl<K: PartialEq, V> Kept<K, V> {
    /// What is kept under `key`; else it is reckoned, and kept where that succeeds.
    pub(crate) fn get<E>(
        &self,
        key: K,
        reckon: impl FnOnce() -> Result<V, E>,
    ) -> Result<Arc<V>, E> {
        if let Some(found) = self.find(&key) {
            return Ok(found);
        }
        // Not under the lock: two who ask at once reckon twice rather than one waiting for all.
        let made = Arc::new(reckon()?);
        let mut all = self.all.lock().unwrap_or_else(PoisonError::into_inner);
        all.retain(|(k, _)| *k != key);
        all.insert(0, (key, made.clone()));
        all.truncate(MOST);
        Ok(made)
    }

    fn find(&self, key: &K) -> Option<Arc<V>> {
        let all = self.all.lock().unwrap_or_else(PoisonError::into_inner);
        all.iter().find(|(k, _)| k == key).map(|(_, v)| v.clone())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_thing_is_reckoned_once_for_each_key_and_a_fault_is_not_kept() {
        let kept: Kept<(u32, u64), f64> = Kept::default();
        let mut asked = 0;
        for _ in 0..3 {
            let _ = kept.get((1, 7), || {
                asked += 1;
                Ok::<f64, ()>(2.0)
            });
        }
        assert_eq!(asked, 1);
        assert!(kept.get((1, 8), || Err::<f64, &str>("no")).is_err());
        assert_eq!(kept.get((1, 8), || Ok::<f64, ()>(3.0)).map(|v| *v), Ok(3.0));
        for run in 10..40 {
            let _ = kept.get((run, 7), || Ok::<f64, ()>(0.0));
        }
        assert!(kept.find(&(1, 7)).is_none(), "only the last few are kept");
    }
}
