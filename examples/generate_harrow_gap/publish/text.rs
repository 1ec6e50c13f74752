//! Numbers as the services write them.

/// A number with fixed decimals, without a negative zero.
pub fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    if text
        .trim_start_matches('-')
        .bytes()
        .all(|b| b == b'0' || b == b'.')
    {
        text.trim_start_matches('-').to_owned()
    } else {
        text
    }
}

/// A number with three significant digits, as discharge is published.
pub fn three_digits(value: f64) -> String {
    if value >= 100.0 {
        let mut unit = 1.0;
        while value / unit >= 999.5 {
            unit *= 10.0;
        }
        fixed((value / unit).round() * unit, 0)
    } else if value >= 99.95 {
        fixed(value, 0)
    } else if value >= 9.995 {
        fixed(value, 1)
    } else {
        fixed(value, 2)
    }
}
