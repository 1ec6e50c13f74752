//! gzip with no time stamp and no name: the same bytes on every machine.

/// Compresses `bytes` (RFC 1952; deflate by `miniz_oxide`, whose output does not depend on the processor).
pub fn gzip(bytes: &[u8]) -> Vec<u8> {
    let mut out = vec![0x1f, 0x8b, 8, 0, 0, 0, 0, 0, 2, 255];
    out.extend(miniz_oxide::deflate::compress_to_vec(bytes, 10));
    let mut crc = flate2::Crc::new();
    crc.update(bytes);
    out.extend(crc.sum().to_le_bytes());
    out.extend((bytes.len() as u32).to_le_bytes());
    out
}
