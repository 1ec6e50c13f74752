//! Values of the parser as numbers and as words for a message.

use toml::de::DeValue;

/// The number of an integer or float; `None` for anything else.
pub(in crate::lake::file) fn number_of(value: &DeValue<'_>) -> Option<f64> {
    match value {
        DeValue::Integer(n) => i64::from_str_radix(n.as_str(), n.radix()).ok().map(|n| n as f64),
        DeValue::Float(n) => n.as_str().parse().ok(),
        _ => None,
    }
}

/// `[latitude, longitude]` within their limits, degrees; `None` for anything else.
pub(in crate::lake::file) fn pair_of(value: &DeValue<'_>) -> Option<(f64, f64)> {
    let DeValue::Array(list) = value else { return None };
    let [latitude, longitude] = &list[..] else {
        return None;
    };
    let (latitude_deg, longitude_deg) = (number_of(latitude.get_ref())?, number_of(longitude.get_ref())?);
    (latitude_deg.abs() <= 90.0 && longitude_deg.abs() <= 180.0).then_some((latitude_deg, longitude_deg))
}

/// A value as it stands in the file, shortened, on one line.
pub(in crate::lake::file) fn describe(value: &DeValue<'_>) -> String {
    match value {
        DeValue::String(text) => quote(text),
        DeValue::Integer(n) => shorten(&n.to_string()),
        DeValue::Float(n) => shorten(n.as_str()),
        DeValue::Boolean(flag) => flag.to_string(),
        DeValue::Datetime(stamp) => stamp.to_string(),
        DeValue::Array(list) if list.is_empty() => "an empty list".to_owned(),
        DeValue::Array(list) => {
            let items: Vec<String> = list.iter().take(3).map(|item| describe(item.get_ref())).collect();
            let more = if list.len() > 3 { ", ..." } else { "" };
            format!("[{}{more}]", items.join(", "))
        }
        DeValue::Table(_) => "a table".to_owned(),
    }
}

/// A text in quotes, shortened, control characters escaped.
pub(in crate::lake::file) fn quote(text: &str) -> String {
    format!("{:?}", shorten(text))
}

fn shorten(text: &str) -> String {
    const MOST: usize = 60;
    if text.chars().count() <= MOST {
        return text.to_owned();
    }
    text.chars().take(MOST).chain("...".chars()).collect()
}

/// A number for a message: at most two decimals where it is large, without trailing zeros.
pub(in crate::lake::file) fn plain(number: f64) -> String {
    let text = if number.abs() >= 10.0 {
        format!("{number:.2}")
    } else {
        format!("{number:.4}")
    };
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        &text
    };
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_in_messages_carry_no_idle_zeros() {
        assert_eq!(plain(845.0), "845");
        assert_eq!(plain(0.25), "0.25");
        assert_eq!(plain(-0.0), "0");
        assert_eq!(plain(2296.587926), "2296.59");
    }

    #[test]
    fn a_text_with_a_line_break_stays_on_one_line() {
        assert_eq!(quote("a\nb"), "\"a\\nb\"");
    }
}
