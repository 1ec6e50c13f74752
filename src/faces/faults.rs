//! Faults of a lake file as text: one line each, then how many there are.

use std::fmt::Write;

use crate::lake::Fault;

/// The faults, each on a line that begins `FILE:LINE:COLUMN:`, and a last line with their number.
pub fn render_faults(faults: &[Fault]) -> String {
    let mut text = String::new();
    for fault in faults {
        text.push_str(&render_fault(fault));
        text.push('\n');
    }
    // Writing into a String cannot fail.
    let _ = writeln!(text, "{}", render_count(faults.len()));
    text
}

/// How many faults there are: `no faults`, `1 fault`, `12 faults`.
pub fn render_count(count: usize) -> String {
    match count {
        0 => "no faults".to_owned(),
        1 => "1 fault".to_owned(),
        _ => format!("{count} faults"),
    }
}

/// One fault on one line: `FILE:LINE:COLUMN: found ..., wanted ...; mend: ...`.
pub fn render_fault(fault: &Fault) -> String {
    format!(
        "{}:{}:{}: found {}, wanted {}; mend: {}",
        fault.file.display(),
        fault.line,
        fault.column,
        fault.found,
        fault.wanted,
        fault.mend
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fault_begins_with_its_place_and_the_last_line_counts() {
        let fault = Fault {
            file: "lakes/x.toml".into(),
            line: 7,
            column: 12,
            found: "latitude = 95".into(),
            wanted: "a number from -90 to 90".into(),
            mend: "check the number".into(),
        };
        let text = render_faults(&[fault]);
        let wanted = "lakes/x.toml:7:12: found latitude = 95, wanted a number from -90 to 90; \
                      mend: check the number\n1 fault\n";
        assert_eq!(text, wanted);
    }
}
