//! One file a public service: `get_` fetches, `read_` turns bytes into records in SI, UTC and the lake's datum.
