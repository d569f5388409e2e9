//! The digest of the derived state: SHA-256 over its rows in order. It, not the file, is what must
//! be equal after a rebuild.

use super::{Derived, FOLD_VERSION, trouble};
use crate::hash::Hash;
use crate::store::StoreFault;
use rusqlite::types::ValueRef;
use sha2::{Digest, Sha256};

/// Each table in the order of its key. Balances of nought are left out: an account that was
/// touched and emptied says no more than one that never was.
const TABLES: &[&str] = &[
    "SELECT * FROM meta ORDER BY key",
    "SELECT * FROM entry ORDER BY serial",
    "SELECT * FROM posting ORDER BY serial, line",
    "SELECT * FROM balance WHERE micro <> 0 ORDER BY account, commodity",
    "SELECT * FROM act ORDER BY subject, name, happened_us, serial, way",
    "SELECT * FROM watch ORDER BY account, commodity",
];

impl Derived {
    /// The SHA-256 of its ordered dump.
    pub fn digest(&self) -> Result<Hash, StoreFault> {
        self.dump().map_err(|e| trouble(&e))
    }

    fn dump(&self) -> rusqlite::Result<Hash> {
        let mut sha = Sha256::new();
        sha.update(FOLD_VERSION.to_be_bytes());
        for sql in TABLES {
            sha.update(sql.as_bytes());
            let mut query = self.db.prepare(sql)?;
            let columns = query.column_count();
            let mut rows = query.query([])?;
            while let Some(row) = rows.next()? {
                for column in 0..columns {
                    feed(&mut sha, row.get_ref(column)?);
                }
            }
        }
        Ok(sha.finalize().into())
    }
}

/// One value, with a letter for its type and its length, so that no two rows read alike.
fn feed(sha: &mut Sha256, value: ValueRef<'_>) {
    match value {
        ValueRef::Null => sha.update(b"n"),
        ValueRef::Integer(number) => {
            sha.update(b"i");
            sha.update(number.to_be_bytes());
        }
        ValueRef::Real(number) => {
            sha.update(b"r");
            sha.update(number.to_bits().to_be_bytes());
        }
        ValueRef::Text(bytes) | ValueRef::Blob(bytes) => {
            sha.update(b"t");
            sha.update((bytes.len() as u64).to_be_bytes());
            sha.update(bytes);
        }
    }
}
