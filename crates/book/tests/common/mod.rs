//! What the tests of the book share.

// Each test file uses a part of this.
#![allow(dead_code, unreachable_pub)]

use book::store::Holder;
use book::{Moment, Noting, Role};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};

/// A folder that is gone when it is dropped.
pub struct Folder(PathBuf);

impl Folder {
    pub fn new() -> Self {
        static NEXT: AtomicU32 = AtomicU32::new(0);
        let name = format!("book-{}-{}", std::process::id(), NEXT.fetch_add(1, Ordering::Relaxed));
        let path = std::env::temp_dir().join(name);
        std::fs::create_dir_all(&path).unwrap();
        Self(path)
    }
    pub fn path(&self) -> &Path {
        &self.0
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

pub fn holder() -> Holder {
    Holder {
        pid: std::process::id(),
        host: "office".into(),
        since: "2026-03-02T06:00:00+00:00".into(),
        served: "http://127.0.0.1:8700".into(),
    }
}

/// Minutes after the first of March.
pub fn minute(minute: i64) -> Moment {
    let start: jiff::Timestamp = "2026-03-01T00:00:00Z".parse().unwrap();
    (start + jiff::SignedDuration::from_mins(minute)).into()
}

/// An intake with this id.
pub fn intake(id: &str, at: i64) -> Noting {
    let pairs = [("lot", "row_1"), ("barley", "two_row"), ("kg", "1000"), ("moisture_wet", "0.12")];
    Noting::from_pairs("intake", pairs).unwrap().id(id).at(minute(at)).by("A. Hand", Role::Hand)
}
