//! XML as a stream of elements: names without prefix, attributes, texts. Nothing is expanded, nothing is kept.

use std::io::BufRead;

use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

use crate::trips::error::TripFault;

/// Deepest nesting that is followed (project choice): a track has six.
const DEPTH_MOST: usize = 64;

/// What a reader of tracks is told of, one after the other.
pub(super) trait Listener {
    /// An element begins.
    fn begins(&mut self, name: &[u8], element: &BytesStart<'_>);
    /// Text inside the innermost element; it may come in parts.
    fn text(&mut self, text: &[u8]);
    /// An element ends.
    fn ends(&mut self, name: &[u8]);
}

/// Reads a document to its end.
///
/// # Errors
/// A fault, with the byte where it was seen: no XML, another root, or an end before the root was closed.
pub(super) fn listen(
    from: impl BufRead,
    roots: &[&[u8]],
    listener: &mut impl Listener,
) -> Result<(), TripFault> {
    let root_words = || {
        let words: Vec<String> = roots
            .iter()
            .map(|r| format!("<{}>", String::from_utf8_lossy(r)))
            .collect();
        words.join(" or ")
    };
    let mut reader = Reader::from_reader(from);
    let (mut buffer, mut depth) = (Vec::new(), 0usize);
    let mut closed = false;
    loop {
        buffer.clear();
        let at = reader.buffer_position();
        let fault = |found: String, wanted: String, mend: &str| {
            Err(TripFault::new(format!("byte {at}"), found, wanted, mend))
        };
        let event = match reader.read_event_into(&mut buffer) {
            Ok(event) => event,
            Err(error) => {
                let mend = "the file is damaged or cut short: export the track again";
                return fault(error.to_string(), "XML".to_owned(), mend);
            }
        };
        match event {
            Event::Start(element) | Event::Empty(element)
                if depth == 0 && !roots.contains(&element.local_name().as_ref()) =>
            {
                let name = String::from_utf8_lossy(element.local_name().as_ref())
                    .chars()
                    .take(40)
                    .collect::<String>();
                return fault(
                    format!("<{name}>"),
                    root_words(),
                    "name the file by its form: .gpx or .kml",
                );
            }
            Event::Start(element) => {
                depth += 1;
                if depth > DEPTH_MOST {
                    return fault(
                        format!("elements {depth} deep"),
                        format!("at most {DEPTH_MOST}"),
                        "export the track again",
                    );
                }
                listener.begins(element.local_name().as_ref(), &element);
            }
            Event::Empty(element) => {
                listener.begins(element.local_name().as_ref(), &element);
                listener.ends(element.local_name().as_ref());
            }
            Event::End(element) => {
                // The reader has checked that it closes what is open.
                depth = depth.saturating_sub(1);
                closed |= depth == 0;
                listener.ends(element.local_name().as_ref());
            }
            Event::Text(text) => listener.text(&text),
            Event::CData(text) => listener.text(&text),
            Event::Eof if closed && depth == 0 => return Ok(()),
            Event::Eof => {
                let mend = "the file is cut short: export the track again";
                return fault(
                    "the end of the file".to_owned(),
                    format!("the end of {}", root_words()),
                    mend,
                );
            }
            Event::Comment(_) | Event::Decl(_) | Event::PI(_) | Event::DocType(_) | Event::GeneralRef(_) => {}
        }
    }
}

/// An attribute of an element as text.
pub(super) fn attribute(element: &BytesStart<'_>, name: &[u8]) -> Option<String> {
    let mut attributes = element.attributes();
    let is_it = |key: &quick_xml::name::QName<'_>| key.local_name().as_ref() == name;
    let found = attributes
        .with_checks(false)
        .filter_map(|a| a.ok())
        .find(|a| is_it(&a.key))?;
    Some(String::from_utf8_lossy(&found.value).into_owned())
}
