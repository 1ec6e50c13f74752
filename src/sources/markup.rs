//! XML from outside.

use roxmltree::{Document, Node, ParsingOptions};

use super::error::ReadError;
use super::reply::beginning;

/// Most nodes of a document: a table of a hundred thousand points has some seven hundred thousand.
const MOST_NODES: u32 = 8_000_000;
/// Deepest nesting that is read. The parser goes down with the depth, and so would its stack; the formats read here have
/// some ten levels.
const DEEPEST: usize = 200;

/// The document of a text. A document type, which could make little text much, is refused, and so is deep nesting.
///
/// # Errors
/// [`ReadError::Empty`], [`ReadError::Markup`].
pub fn read_document(text: &str) -> Result<Document<'_>, ReadError> {
    let text = text.trim_start_matches('\u{feff}').trim_start();
    if text.is_empty() {
        return Err(ReadError::Empty { wanted: "XML" });
    }
    let fault = |reason: String| ReadError::Markup {
        reason,
        begins: beginning(text.as_bytes()),
    };
    if deeper_than(text, DEEPEST) {
        return Err(fault(format!(
            "elements lie more than {DEEPEST} deep in each other"
        )));
    }
    let options = ParsingOptions {
        allow_dtd: false,
        nodes_limit: MOST_NODES,
        ..ParsingOptions::default()
    };
    Document::parse_with_options(text, options).map_err(|error| fault(error.to_string()))
}

/// Whether elements lie more than `most` deep in each other: counted without a parser, byte by byte, once. Comments and
/// CDATA that hold tags can make the count wrong either way; what slips by, the parser bears (300 000 levels were tried).
fn deeper_than(text: &str, most: usize) -> bool {
    let bytes = text.as_bytes();
    let (mut depth, mut open) = (0usize, None);
    for (k, byte) in bytes.iter().enumerate() {
        match (byte, open) {
            (b'<', _) => open = Some(k),
            (b'>', Some(start)) => {
                open = None;
                match bytes.get(start + 1) {
                    Some(b'/') => depth = depth.saturating_sub(1),
                    Some(b'?' | b'!') | None => {}
                    Some(_) if bytes[k - 1] == b'/' => {}
                    Some(_) => depth += 1,
                }
                if depth > most {
                    return true;
                }
            }
            _ => {}
        }
    }
    false
}

/// The children of a node that have a name, whatever their namespace.
pub fn children<'a, 'i>(
    node: Node<'a, 'i>,
    name: &'static str,
) -> impl Iterator<Item = Node<'a, 'i>> + use<'a, 'i> {
    node.children()
        .filter(move |child| child.is_element() && child.tag_name().name() == name)
}

/// The text of the first child of a name, blanks around it cut off; `None` where there is none or it is empty.
pub fn text_of<'a>(node: Node<'a, '_>, name: &'static str) -> Option<&'a str> {
    let text = children(node, name).next()?.text()?.trim();
    (!text.is_empty()).then_some(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_grows_or_nests_without_end_is_refused() {
        let bomb = "<!DOCTYPE a [<!ENTITY x \"xxxxxxxx\"><!ENTITY y \"&x;&x;\">]><a>&y;</a>";
        let deep = "<a>".repeat(300_000);
        for text in [bomb, deep.as_str(), "<a><b></a>", "<a", "plain words"] {
            let fault = read_document(text).unwrap_err();
            assert!(matches!(fault, ReadError::Markup { .. }), "{fault}");
        }
        assert!(matches!(read_document(" \n"), Err(ReadError::Empty { .. })));
    }

    #[test]
    fn a_long_text_of_unfinished_tags_is_counted_in_one_pass() {
        // A megabyte: were each tag searched for its end anew, this would take minutes.
        let text = format!("{}/", "<a ".repeat(350_000));
        assert!(!deeper_than(&text, DEEPEST));
        assert!(deeper_than(&"<a b='1'>".repeat(201), DEEPEST));
        assert!(!deeper_than(&"<a/>".repeat(500), DEEPEST));
    }

    #[test]
    fn a_sound_document_is_read_with_or_without_namespaces() {
        let document = read_document("<n:a xmlns:n=\"u\"><n:b> 1 </n:b><b/></n:a>").unwrap();
        assert_eq!(children(document.root_element(), "b").count(), 2);
        assert_eq!(text_of(document.root_element(), "b"), Some("1"));
    }
}
