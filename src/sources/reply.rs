//! Bytes to JSON, with what went wrong named: empty, a page, cut short, another shape.

use std::borrow::Cow;
use std::io::Read;
use std::path::{Path, PathBuf};

use serde::Deserialize;

use super::error::{ReadError, SourceError};

/// Most bytes of a local file, unpacked.
pub const FILE_CAP_BYTES: usize = 512 * 1024 * 1024;

/// The bytes of a local file, at most `cap_bytes` of them: a device may have no end.
///
/// # Errors
/// [`SourceError::File`] where it cannot be read, [`SourceError::FileTooLarge`] past `cap_bytes`.
pub fn read_file(path: &Path, cap_bytes: usize) -> Result<Vec<u8>, SourceError> {
    let read = std::fs::File::open(path).and_then(|file| read_capped(file, cap_bytes));
    match read {
        Ok(Some(bytes)) => Ok(bytes),
        Ok(None) => Err(SourceError::FileTooLarge {
            path: path.to_owned(),
            cap_bytes,
        }),
        Err(source) => Err(SourceError::File {
            path: path.to_owned(),
            source,
        }),
    }
}

/// The bytes of standard input, at most `cap_bytes` of them.
///
/// # Errors
/// As of [`read_file`].
pub fn read_standard_input(cap_bytes: usize) -> Result<Vec<u8>, SourceError> {
    let path = || PathBuf::from("standard input");
    match read_capped(std::io::stdin().lock(), cap_bytes) {
        Ok(Some(bytes)) => Ok(bytes),
        Ok(None) => Err(SourceError::FileTooLarge {
            path: path(),
            cap_bytes,
        }),
        Err(source) => Err(SourceError::File { path: path(), source }),
    }
}

/// Everything that `reader` holds; `None` where that is more than `cap_bytes`.
fn read_capped(reader: impl Read, cap_bytes: usize) -> std::io::Result<Option<Vec<u8>>> {
    let mut bytes = Vec::new();
    // One byte more than the cap, so that a file of exactly the cap passes.
    reader.take(cap_bytes as u64 + 1).read_to_end(&mut bytes)?;
    Ok((bytes.len() <= cap_bytes).then_some(bytes))
}

/// First two bytes of a gzip file (RFC 1952, section 2.3.1).
const GZIP_MAGIC: [u8; 2] = [0x1f, 0x8b];

/// `bytes`, unpacked if they are gzip.
///
/// # Errors
/// [`ReadError::Unpack`] where the gzip is cut short or damaged, [`ReadError::TooLarge`] past `cap_bytes`.
pub fn unpacked(bytes: &[u8], cap_bytes: usize) -> Result<Cow<'_, [u8]>, ReadError> {
    if !bytes.starts_with(&GZIP_MAGIC) {
        return if bytes.len() > cap_bytes {
            Err(ReadError::TooLarge { cap_bytes })
        } else {
            Ok(Cow::Borrowed(bytes))
        };
    }
    let mut plain = Vec::new();
    // One byte more than the cap, so that a file of exactly the cap passes and no bomb unpacks further.
    let mut reader = flate2::read::MultiGzDecoder::new(bytes).take(cap_bytes as u64 + 1);
    match reader.read_to_end(&mut plain) {
        Ok(_) if plain.len() > cap_bytes => Err(ReadError::TooLarge { cap_bytes }),
        Ok(_) => Ok(Cow::Owned(plain)),
        Err(source) => Err(ReadError::Unpack {
            unpacked_bytes: plain.len(),
            source,
        }),
    }
}

/// `bytes` as JSON of shape `T`; `wanted` names it in the message for an empty body.
///
/// # Errors
/// [`ReadError::Empty`], [`ReadError::NotJson`], [`ReadError::CutShort`], [`ReadError::Json`].
pub fn read_json<'de, T: Deserialize<'de>>(bytes: &'de [u8], wanted: &'static str) -> Result<T, ReadError> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let start = bytes
        .iter()
        .position(|b| !b.is_ascii_whitespace())
        .unwrap_or(bytes.len());
    match bytes.get(start) {
        None => return Err(ReadError::Empty { wanted }),
        Some(b'{' | b'[') => {}
        Some(b'<') => {
            return Err(ReadError::NotJson {
                found: markup_kind(&bytes[start..]),
                begins: beginning(&bytes[start..]),
            });
        }
        Some(_) => {
            return Err(ReadError::NotJson {
                found: "other text",
                begins: beginning(&bytes[start..]),
            });
        }
    }
    // Keeping track of the place takes longer than reading, so it is done only to name the place of a fault.
    serde_json::from_slice(bytes).or_else(|_| read_with_places(bytes))
}

/// As [`read_json`] of bytes that begin as JSON does, at about twice the cost.
fn read_with_places<'de, T: Deserialize<'de>>(bytes: &'de [u8]) -> Result<T, ReadError> {
    let mut reader = serde_json::Deserializer::from_slice(bytes);
    let value = serde_path_to_error::deserialize(&mut reader).map_err(|error| {
        let path = error.path().to_string();
        json_fault(path, error.into_inner())
    })?;
    reader
        .end()
        .map_err(|source| json_fault("after the end".to_owned(), source))?;
    Ok(value)
}

fn json_fault(path: String, source: serde_json::Error) -> ReadError {
    if source.is_eof() {
        ReadError::CutShort {
            path,
            line: source.line(),
            column: source.column(),
        }
    } else {
        ReadError::Json { path, source }
    }
}

fn markup_kind(bytes: &[u8]) -> &'static str {
    let head: Vec<u8> = bytes.iter().take(512).map(u8::to_ascii_lowercase).collect();
    let holds = |word: &[u8]| head.windows(word.len()).any(|w| w == word);
    if holds(b"<html") || holds(b"<!doctype html") {
        "an HTML page"
    } else {
        "XML"
    }
}

/// The first 40 characters of a body, on one line, for a message.
pub fn beginning(bytes: &[u8]) -> String {
    first_characters(bytes, 40)
}

/// The first `most` characters of a body, on one line.
pub fn first_characters(bytes: &[u8], most: usize) -> String {
    let text = String::from_utf8_lossy(&bytes[..bytes.len().min(4 * most)]);
    let on_one_line = |c: char| if c.is_control() || c == '"' { ' ' } else { c };
    text.chars().map(on_one_line).take(most).collect()
}

/// Whether `word` occurs in the first 64 KiB of `bytes`: a cheap look at what a reply may be.
pub fn begins_with_word(bytes: &[u8], word: &str) -> bool {
    let head = &bytes[..bytes.len().min(64 * 1024)];
    head.windows(word.len()).any(|w| w == word.as_bytes())
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::Value;
    use std::io::Write;

    fn packed(text: &[u8]) -> Vec<u8> {
        let mut out = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::default());
        out.write_all(text).unwrap();
        out.finish().unwrap()
    }

    #[test]
    fn an_empty_body_is_named_as_such() {
        assert!(matches!(
            read_json::<Value>(b" \n", "daily values"),
            Err(ReadError::Empty {
                wanted: "daily values"
            })
        ));
    }

    #[test]
    fn a_reader_without_end_and_a_file_past_the_cap_are_given_up() {
        assert_eq!(read_capped(std::io::repeat(b' '), 1000).unwrap(), None);
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("ten");
        std::fs::write(&path, [b' '; 10]).unwrap();
        assert_eq!(read_file(&path, 10).unwrap().len(), 10);
        let error = read_file(&path, 9).unwrap_err();
        assert!(
            matches!(&error, SourceError::FileTooLarge { cap_bytes: 9, .. }),
            "{error}"
        );
    }

    #[test]
    fn a_page_is_told_from_json() {
        let fault = read_json::<Value>(b"<!DOCTYPE html><html><body>Down</body></html>", "").unwrap_err();
        assert!(fault.to_string().contains("an HTML page"), "{fault}");
    }

    #[test]
    fn cut_json_says_where_it_stops() {
        #[derive(serde::Deserialize, Debug)]
        #[allow(dead_code)]
        struct Shape {
            features: Vec<Value>,
        }
        let fault = read_json::<Shape>(br#"{"features":[{"a":1},{"a""#, "").unwrap_err();
        assert!(
            matches!(&fault, ReadError::CutShort { path, line: 1, .. } if path.starts_with("features")),
            "{fault}"
        );
    }

    #[test]
    fn json_of_another_shape_names_the_path() {
        #[derive(serde::Deserialize, Debug)]
        #[allow(dead_code)]
        struct Shape {
            features: Vec<u8>,
        }
        let fault = read_json::<Shape>(br#"{"features":[1,"x"]}"#, "").unwrap_err();
        assert!(
            matches!(&fault, ReadError::Json { path, .. } if path == "features[1]"),
            "{fault}"
        );
    }

    #[test]
    fn gzip_is_unpacked_and_a_cut_one_is_refused() {
        let whole = packed(b"{\"a\": 1}");
        assert_eq!(unpacked(&whole, 100).unwrap().as_ref(), b"{\"a\": 1}");
        assert!(matches!(
            unpacked(&whole[..whole.len() - 6], 100),
            Err(ReadError::Unpack { .. })
        ));
    }

    #[test]
    fn a_bomb_stops_at_the_cap() {
        let bomb = packed(&vec![b' '; 100_000]);
        assert!(bomb.len() < 1000);
        assert!(matches!(
            unpacked(&bomb, 5000),
            Err(ReadError::TooLarge { cap_bytes: 5000 })
        ));
        assert!(unpacked(&bomb, 100_000).is_ok());
    }
}
