//! Numbers and texts as bytes, little end first, with a mark before them and a seal after.

use sha2::{Digest, Sha256};

use super::error::StateError;
use super::inputs::InputHash;

/// How a file begins.
const MARK: &[u8; 8] = b"plstate\n";
const SEAL: usize = 32;

/// Bytes being written.
pub(super) struct Writer(Vec<u8>);

impl Writer {
    pub(super) fn new(form: u32) -> Self {
        let mut out = Writer(MARK.to_vec());
        out.int(form);
        out
    }

    pub(super) fn int(&mut self, number: u32) {
        self.0.extend_from_slice(&number.to_le_bytes());
    }

    pub(super) fn count(&mut self, count: usize) {
        self.int(u32::try_from(count).expect("layers, lanes and columns of a lake are few"));
    }

    pub(super) fn hash(&mut self, hash: &InputHash) {
        self.0.extend_from_slice(hash);
    }

    pub(super) fn text(&mut self, text: &str) {
        self.count(text.len());
        self.0.extend_from_slice(text.as_bytes());
    }

    pub(super) fn floats<const N: usize>(&mut self, numbers: &[f64; N]) {
        for number in numbers {
            self.0.extend_from_slice(&number.to_le_bytes());
        }
    }

    pub(super) fn sealed(mut self) -> Vec<u8> {
        let seal = Sha256::digest(&self.0);
        self.0.extend_from_slice(&seal);
        self.0
    }
}

/// Bytes being read.
pub(super) struct Reader<'a>(&'a [u8]);

impl<'a> Reader<'a> {
    /// Past the mark, with form and seal checked.
    pub(super) fn unsealed(bytes: &'a [u8], form: u32) -> Result<Self, StateError> {
        let mut reader = Reader(bytes.strip_prefix(MARK).ok_or(StateError::Foreign)?);
        let found = reader.int().map_err(|_| StateError::Damaged)?;
        if found != form {
            return Err(StateError::Form { found, wanted: form });
        }
        let start = reader.0.len().checked_sub(SEAL).ok_or(StateError::Damaged)?;
        let (whole, seal) = bytes.split_at(bytes.len() - SEAL);
        if Sha256::digest(whole)[..] != *seal {
            return Err(StateError::Damaged);
        }
        reader.0 = &reader.0[..start];
        Ok(reader)
    }

    fn take<const N: usize>(&mut self) -> Result<[u8; N], StateError> {
        let (first, rest) = self.0.split_first_chunk::<N>().ok_or_else(|| too_short(N))?;
        self.0 = rest;
        Ok(*first)
    }

    pub(super) fn int(&mut self) -> Result<u32, StateError> {
        self.take().map(u32::from_le_bytes)
    }

    pub(super) fn count(&mut self) -> Result<usize, StateError> {
        self.int().map(|count| count as usize)
    }

    pub(super) fn hash(&mut self) -> Result<InputHash, StateError> {
        self.take()
    }

    pub(super) fn text(&mut self) -> Result<String, StateError> {
        let length = self.count()?;
        let (text, rest) = self.0.split_at_checked(length).ok_or_else(|| too_short(length))?;
        self.0 = rest;
        std::str::from_utf8(text)
            .map(str::to_owned)
            .map_err(|_| content("bytes that are no UTF-8".to_owned(), "a text"))
    }

    /// Finite numbers.
    pub(super) fn floats<const N: usize>(&mut self) -> Result<[f64; N], StateError> {
        let mut numbers = [0.0; N];
        for number in &mut numbers {
            *number = f64::from_le_bytes(self.take()?);
            if !number.is_finite() {
                return Err(content(number.to_string(), "a finite number"));
            }
        }
        Ok(numbers)
    }

    pub(super) fn end(&self) -> Result<(), StateError> {
        match self.0.len() {
            0 => Ok(()),
            over => Err(content(format!("{over} bytes more"), "the end")),
        }
    }
}

fn too_short(wanted: usize) -> StateError {
    StateError::Content {
        found: "the end".to_owned(),
        wanted: format!("{wanted} bytes more"),
    }
}

fn content(found: String, wanted: &str) -> StateError {
    StateError::Content {
        found,
        wanted: wanted.to_owned(),
    }
}
