//! What a state rests on, told by hashes.

use sha2::{Digest, Sha256};

/// SHA-256 of what something rests on.
pub type InputHash = [u8; 32];

/// SHA-256 of some bytes, such as those of the lake file.
pub fn hash_of(bytes: &[u8]) -> InputHash {
    Sha256::digest(bytes).into()
}

/// A hash in hexadecimal, two digits a byte.
pub fn in_hexadecimal(hash: &InputHash) -> String {
    hash.iter().map(|byte| format!("{byte:02x}")).collect()
}
