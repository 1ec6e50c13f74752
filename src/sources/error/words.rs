//! Words that messages share.

/// The last cause of a chain, which is the one that tells something.
pub(super) fn root_cause(error: &dyn std::error::Error) -> String {
    let mut cause: &dyn std::error::Error = error;
    while let Some(next) = cause.source() {
        cause = next;
    }
    cause.to_string()
}

/// Whether a connection failed for the certificate that was shown. Errors of input and output keep what they
/// were made of apart from the chain of causes, and wrap one another.
pub(in crate::sources) fn is_certificate_fault(error: &(dyn std::error::Error + 'static)) -> bool {
    if let Some(fault) = error.downcast_ref::<rustls::Error>() {
        return matches!(fault, rustls::Error::InvalidCertificate(_));
    }
    let io = error.downcast_ref::<std::io::Error>();
    match io.and_then(std::io::Error::get_ref) {
        Some(inner) => is_certificate_fault(inner),
        None => error.source().is_some_and(is_certificate_fault),
    }
}

pub(super) fn tries_words(tries: usize) -> String {
    match tries {
        1 => "1 try".to_owned(),
        many => format!("{many} tries"),
    }
}

pub(super) fn said_words(said: &Option<String>) -> String {
    said.as_ref()
        .map(|words| format!(" (\"{words}\")"))
        .unwrap_or_default()
}

pub(super) fn status_remedy(status: u16) -> &'static str {
    match status {
        400 | 422 => "the request is refused: mend station, parameter or position in the lake file",
        401 | 403 => {
            "access is refused: check `contact` in the lake file, PLUNGELINE_USGS_KEY, or ask for a shorter window"
        }
        404 => "nothing stands there: mend station, parameter or position in the lake file",
        410 => "the service is gone: look for a newer plungeline",
        413 | 414 => "too much is asked at once: ask for a shorter window (daily_from, continuous_from)",
        429 => "too many requests: run `plungeline pull` later",
        _ => "the service's own fault: run `plungeline pull` later",
    }
}
