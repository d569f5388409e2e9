//! The chain: each entry's hash covers the one before it, its serial and its bytes.

use sha2::{Digest, Sha256};

/// Raw bytes of a SHA-256.
pub type Hash = [u8; 32];

/// What stands before the first entry.
pub const ZERO: Hash = [0; 32];

/// Gives the hash of an entry.
///
/// SHA-256("shiel-journal-1\n" || hash before || serial as 8 bytes big-endian || length of body as
/// 8 bytes big-endian || body).
pub fn chain(before: &Hash, serial: u64, body: &[u8]) -> Hash {
    let mut sha = Sha256::new();
    sha.update(b"shiel-journal-1\n");
    sha.update(before);
    sha.update(serial.to_be_bytes());
    sha.update((body.len() as u64).to_be_bytes());
    sha.update(body);
    sha.finalize().into()
}

/// A hash as a page or a command shows it.
pub fn hex(hash: &[u8]) -> String {
    use std::fmt::Write as _;
    let mut out = String::with_capacity(hash.len() * 2);
    for byte in hash {
        let _ = write!(out, "{byte:02x}");
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The expected value was made apart from this code, with coreutils:
    /// `{ printf 'shiel-journal-1\n'; head -c 32 /dev/zero; printf '\0\0\0\0\0\0\0\1';
    ///    printf '\0\0\0\0\0\0\0\2{}'; } | sha256sum`
    #[test]
    fn the_chain_is_the_bytes_of_the_contract() {
        assert_eq!(hex(&chain(&ZERO, 1, b"{}")), EXPECTED);
    }
    const EXPECTED: &str = "8ed669663ea4b9c44be85a1b1a031de69e8eb11429497ab642a2539f4bd7b110";
}
