//! A reply's body: streamed under a cap, and an error body in the service's own words.

use reqwest::Response;
use serde_json::Value;

use crate::sources::reply::{first_characters, read_json};

/// Why a body was not read to its end.
pub(super) enum BodyFault {
    /// Over the cap.
    TooLarge,
    /// Broken off, or too slow.
    Broken {
        received_bytes: usize,
        source: reqwest::Error,
    },
}

/// The body, unpacked, at most `cap_bytes` of it.
pub(super) async fn read_body(mut response: Response, cap_bytes: usize) -> Result<Vec<u8>, BodyFault> {
    // A length that is announced counts packed bytes where the body is packed; then it is not told here.
    if response
        .content_length()
        .is_some_and(|length| length > cap_bytes as u64)
    {
        return Err(BodyFault::TooLarge);
    }
    let mut bytes = Vec::new();
    loop {
        match response.chunk().await {
            Ok(Some(chunk)) if bytes.len() + chunk.len() > cap_bytes => return Err(BodyFault::TooLarge),
            Ok(Some(chunk)) => bytes.extend_from_slice(&chunk),
            Ok(None) => return Ok(bytes),
            Err(source) => {
                return Err(BodyFault::Broken {
                    received_bytes: bytes.len(),
                    source,
                });
            }
        }
    }
}

/// What a service says of an error: the text in one of the shapes they use, or the first words.
pub(super) fn said(bytes: &[u8]) -> Option<String> {
    const CHARACTERS: usize = 400;
    let text = match read_json::<Value>(bytes, "") {
        Ok(value) => error_words(&value)?,
        Err(_) => {
            let first = first_characters(bytes.trim_ascii_start(), CHARACTERS);
            match first.trim() {
                "" => return None,
                page if page.starts_with('<') => "a page, no message".to_owned(),
                words => words.to_owned(),
            }
        }
    };
    Some(
        text.chars()
            .map(|c| if c.is_control() { ' ' } else { c })
            .take(CHARACTERS)
            .collect(),
    )
}

/// The message of an error body: `{"description"}`, `{"error": {"message"}}`, `{"error": true, "reason"}`,
/// `{"message"}`, `{"detail"}`, `{"title", "type", "detail"}`.
pub(crate) fn error_words(value: &Value) -> Option<String> {
    let text = |key: &str| value.get(key).and_then(Value::as_str);
    if text("title").is_some() && text("type").is_some() {
        return problem_words(text("title"), text("detail"), text("type"));
    }
    let nested = value
        .get("error")
        .and_then(|e| e.get("message").or(e.get("code")).or(Some(e)));
    let candidates = [
        value.get("reason"),
        value.get("description"),
        nested,
        value.get("message"),
        value.get("detail"),
        value.get("code"),
    ];
    candidates
        .into_iter()
        .flatten()
        .find_map(|v| v.as_str())
        .map(str::to_owned)
}

/// The words of a problem body (RFC 9457): title, detail, and the last part of its type, which is an address;
/// `None` without title and detail.
pub(crate) fn problem_words(title: Option<&str>, detail: Option<&str>, kind: Option<&str>) -> Option<String> {
    let detail = detail.filter(|detail| Some(*detail) != title);
    let words: Vec<&str> = [title, detail].into_iter().flatten().collect();
    if words.is_empty() {
        return None;
    }
    let name = kind
        .and_then(|kind| kind.rsplit('/').next())
        .filter(|name| !matches!(*name, "" | "about:blank"));
    let name = name.map_or(String::new(), |name| format!(" ({name})"));
    Some(format!("{}{name}", words.join(": ")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_shape_of_error_body_gives_its_words() {
        let cases = [
            (
                r#"{"code":"InvalidParameterValue","description":"bad time"}"#,
                Some("bad time"),
            ),
            (
                r#"{"error":{"code":"OVER_RATE_LIMIT","message":"slow down"}}"#,
                Some("slow down"),
            ),
            (r#"{"error":{"code":"OVER_RATE_LIMIT"}}"#, Some("OVER_RATE_LIMIT")),
            (
                r#"{"error":true,"reason":"Latitude must be in range"}"#,
                Some("Latitude must be in range"),
            ),
            (r#"{"message":"not found"}"#, Some("not found")),
            (
                r#"{"title":"Invalid Parameter","type":"https://api.weather.gov/problems/InvalidParameter","status":400,"detail":"Parameter \"point\" is invalid"}"#,
                Some("Invalid Parameter: Parameter \"point\" is invalid (InvalidParameter)"),
            ),
            (
                r#"{"title":"Not Found","type":"about:blank","status":404,"detail":"Not Found"}"#,
                Some("Not Found"),
            ),
            ("  plain words\n", Some("plain words")),
            (
                "<html><body>Bad gateway</body></html>",
                Some("a page, no message"),
            ),
            ("", None),
            (r#"{"a":1}"#, None),
        ];
        for (body, words) in cases {
            assert_eq!(said(body.as_bytes()).as_deref(), words, "{body}");
        }
    }
}
