//! The seal of a Parquet file: a checksum that lies between its columns and its footer.
//!
//! A Parquet file ends in `footer, length of the footer (4 bytes), "PAR1"`, and the footer names the
//! columns by their distance from the start. Bytes between the last column and the footer are read by
//! no one; the seal stands there: `"plsl"` and SHA-256 of every other byte of the file.

use sha2::{Digest, Sha256};

use crate::series::error::Damage;

const MARK: &[u8; 4] = b"plsl";
const DIGEST: usize = 32;
const SEAL: usize = MARK.len() + DIGEST;
const END_MARK: &[u8; 4] = b"PAR1";
/// Footer length and end mark.
const TAIL: usize = 8;

/// Puts the seal into the bytes of a Parquet file.
///
/// # Errors
/// [`Damage`] when `bytes` are not a whole Parquet file.
pub(super) fn sealed(bytes: Vec<u8>) -> Result<Vec<u8>, Damage> {
    let footer = footer_start(&bytes)?;
    let mut digest = Sha256::new();
    digest.update(&bytes);
    let mut out = Vec::with_capacity(bytes.len() + SEAL);
    out.extend_from_slice(&bytes[..footer]);
    out.extend_from_slice(MARK);
    out.extend_from_slice(&digest.finalize());
    out.extend_from_slice(&bytes[footer..]);
    Ok(out)
}

/// Checks the seal; the bytes may be read as Parquet afterwards, seal and all.
///
/// # Errors
/// [`Damage`] when the file is cut short, altered, or bears no seal.
pub(super) fn check_seal(bytes: &[u8]) -> Result<(), Damage> {
    let footer = footer_start(bytes)?;
    let start = footer.checked_sub(SEAL).ok_or(Damage::NoSeal)?;
    let seal = &bytes[start..footer];
    if &seal[..MARK.len()] != MARK {
        return Err(Damage::NoSeal);
    }
    let mut digest = Sha256::new();
    digest.update(&bytes[..start]);
    digest.update(&bytes[footer..]);
    if digest.finalize()[..] == seal[MARK.len()..] {
        Ok(())
    } else {
        Err(Damage::BrokenSeal)
    }
}

/// Where the footer begins.
fn footer_start(bytes: &[u8]) -> Result<usize, Damage> {
    let tail = bytes
        .len()
        .checked_sub(TAIL)
        .ok_or(Damage::TooShort { found: bytes.len() })?;
    if &bytes[tail + 4..] != END_MARK {
        return Err(Damage::NoEndMark);
    }
    let length = u32::from_le_bytes([bytes[tail], bytes[tail + 1], bytes[tail + 2], bytes[tail + 3]]);
    usize::try_from(length)
        .ok()
        .and_then(|length| tail.checked_sub(length))
        .ok_or(Damage::TooShort { found: bytes.len() })
}
