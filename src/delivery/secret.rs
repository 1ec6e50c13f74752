//! A password: where it comes from, and that it is never shown.

use std::path::PathBuf;
use std::process::{Command, Stdio};

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;

use super::error::DeliveryError;

/// Longest password that is read; a file or command that gives more holds something else.
const MOST_BYTES: usize = 4096;

/// Stands in every place of a password.
const HIDDEN: &str = "(hidden)";

/// Where a password comes from. It never stands in the settings themselves.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SecretFrom {
    /// A variable of the environment.
    Environment(String),
    /// The first line of a file that its owner alone can read.
    File(PathBuf),
    /// What a command prints.
    Command(Vec<String>),
}

/// A password. Its debug form hides it, and it has no other.
#[derive(Clone, PartialEq, Eq)]
pub struct Secret(String);

impl std::fmt::Debug for Secret {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Secret(hidden)")
    }
}

impl Secret {
    /// A password, without the line end behind it; `None` for an empty one, more than one line, or more than 4096 bytes.
    pub fn new(text: &str) -> Option<Secret> {
        let line = text.strip_suffix('\n').unwrap_or(text);
        let line = line.strip_suffix('\r').unwrap_or(line);
        let sound = !line.is_empty() && line.len() <= MOST_BYTES && !line.contains(|c: char| c.is_control());
        sound.then(|| Secret(line.to_owned()))
    }

    /// The password itself, for the mail server alone.
    pub(super) fn reveal(&self) -> &str {
        &self.0
    }

    /// `text` with every occurrence of the password taken out, as it is and as the login of `user` sends it: base64 of the password
    /// (`LOGIN`), and of it behind the user (`PLAIN`, RFC 4616), with and without the name to act for.
    pub fn hidden_in(&self, user: &str, text: &str) -> String {
        let sent = [
            format!("{user}\0{user}\0{}", self.0),
            format!("\0{user}\0{}", self.0),
            self.0.clone(),
        ];
        // The longest first: one that is taken out within another would leave the rest of that.
        let encoded = sent.iter().map(|text| {
            let whole = STANDARD.encode(text);
            // A server may cut the filling off.
            whole.trim_end_matches('=').to_owned()
        });
        let told = encoded.fold(text.to_owned(), |told, form| told.replace(&form, HIDDEN));
        told.replace(&self.0, HIDDEN)
    }
}

impl SecretFrom {
    /// Gets the password.
    ///
    /// # Errors
    /// [`DeliveryError::NoSecret`]; of a file [`DeliveryError::Unreadable`] and [`DeliveryError::Exposed`].
    pub fn get(&self) -> Result<Secret, DeliveryError> {
        let (origin, text) = match self {
            SecretFrom::Environment(name) => {
                let origin = format!("the variable {name}");
                match std::env::var(name) {
                    Ok(text) => (origin, text),
                    Err(_) => return Err(no_secret(origin, "it unset, or no text")),
                }
            }
            SecretFrom::File(path) => {
                check_permissions(path)?;
                let text = std::fs::read_to_string(path).map_err(|source| DeliveryError::Unreadable {
                    path: path.clone(),
                    source,
                })?;
                let line = text.split_inclusive('\n').next().unwrap_or("").to_owned();
                (format!("the file {}", path.display()), line)
            }
            SecretFrom::Command(words) => {
                let name = words.first().map_or("", String::as_str);
                let origin = format!("the command {name:?}");
                match printed_by(words) {
                    Ok(text) => (origin, text),
                    Err(found) => return Err(no_secret(origin, &found)),
                }
            }
        };
        Secret::new(&text)
            .ok_or_else(|| no_secret(origin, "nothing, more than one line, or more than 4096 bytes"))
    }
}

fn no_secret(origin: String, found: &str) -> DeliveryError {
    DeliveryError::NoSecret {
        origin,
        found: found.to_owned(),
    }
}

/// What a command prints, or what is wrong with it.
fn printed_by(words: &[String]) -> Result<String, String> {
    let Some((name, arguments)) = words.split_first() else {
        return Err("no command".to_owned());
    };
    let ran = Command::new(name)
        .args(arguments)
        .stdin(Stdio::inherit())
        .stderr(Stdio::inherit())
        .output();
    match ran {
        Ok(output) if output.status.success() => {
            String::from_utf8(output.stdout).map_err(|_| "bytes that are no text".to_owned())
        }
        Ok(output) => Err(format!("that it ended with {}", output.status)),
        Err(error) => Err(format!("that it does not start ({error})")),
    }
}

#[cfg(unix)]
fn check_permissions(path: &std::path::Path) -> Result<(), DeliveryError> {
    use std::os::unix::fs::PermissionsExt as _;
    let metadata = std::fs::metadata(path).map_err(|source| DeliveryError::Unreadable {
        path: path.to_owned(),
        source,
    })?;
    let mode = metadata.permissions().mode() & 0o7777;
    if mode & 0o077 == 0 {
        Ok(())
    } else {
        Err(DeliveryError::Exposed {
            path: path.to_owned(),
            mode,
        })
    }
}

/// Where permissions cannot be looked at, a file is not trusted.
#[cfg(not(unix))]
fn check_permissions(path: &std::path::Path) -> Result<(), DeliveryError> {
    Err(no_secret(
        format!("the file {}", path.display()),
        "a system on which its permissions cannot be checked (use password_env or password_command)",
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_secret_shows_itself_in_no_form() {
        let secret = Secret::new("fourteen herons\n").expect("one line");
        assert_eq!(secret.reveal(), "fourteen herons");
        assert!(!format!("{secret:?}{:#?}", Some(&secret)).contains("heron"));
        // Base64 by Python's base64: the password; NUL lake NUL password; lake NUL lake NUL password.
        for (said, told) in [
            ("no: fourteen herons!", "no: (hidden)!"),
            ("Zm91cnRlZW4gaGVyb25z", "(hidden)"),
            (
                "AUTH PLAIN AGxha2UAZm91cnRlZW4gaGVyb25z is wrong",
                "AUTH PLAIN (hidden) is wrong",
            ),
            ("bGFrZQBsYWtlAGZvdXJ0ZWVuIGhlcm9ucw==", "(hidden)=="),
            ("bGFrZQBsYWtlAGZvdXJ0ZWVuIGhlcm9ucw", "(hidden)"),
        ] {
            assert_eq!(secret.hidden_in("lake", said), told);
        }
    }

    #[test]
    fn a_secret_is_one_line() {
        for text in ["", "\n", "a\nb", "a\rb", &"x".repeat(4097)] {
            assert_eq!(Secret::new(text), None, "{text:?}");
        }
    }
}
