//! A walk over a TOML document that collects every fault with its place.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::{Curve, Fault, Ramp};

/// The document under the walk, and the faults found so far.
pub(super) struct Walk<'a> {
    text: &'a str,
    file: &'a str,
    faults: Vec<Fault>,
}

/// One table with its place and its path of keys.
#[derive(Clone)]
pub(super) struct Node<'t, 'i> {
    table: &'t DeTable<'i>,
    span: Range<usize>,
    path: String,
}

impl<'a> Walk<'a> {
    pub(super) fn new(text: &'a str, file: &'a str) -> Self {
        Walk {
            text,
            file,
            faults: Vec::new(),
        }
    }

    /// The faults, in the order of the file.
    pub(super) fn into_faults(mut self) -> Vec<Fault> {
        self.faults.sort_by_key(|f| (f.line, f.column));
        self.faults
    }

    /// Whether no fault was found.
    pub(super) fn is_clean(&self) -> bool {
        self.faults.is_empty()
    }

    pub(super) fn fault(&mut self, span: Range<usize>, found: String, wanted: &str, mend: &str) {
        let start = span.start.min(self.text.len());
        let before = self.text.get(..start).unwrap_or("");
        let line_start = before.rfind('\n').map_or(0, |i| i + 1);
        self.faults.push(Fault {
            file: self.file.to_owned(),
            line: before.matches('\n').count() + 1,
            column: before[line_start..].chars().count() + 1,
            found,
            wanted: wanted.to_owned(),
            mend: mend.to_owned(),
        });
    }

    /// The text at `span`, its first line, at most 40 characters.
    fn shown(&self, span: &Range<usize>) -> String {
        let whole = self.text.get(span.clone()).unwrap_or("");
        let line = whole.lines().next().unwrap_or("");
        let short: String = line.chars().take(40).collect();
        if short.len() < whole.len() {
            format!("`{short} ...`")
        } else {
            format!("`{short}`")
        }
    }

    /// Faults every key of `node` that is not in `keys`.
    pub(super) fn only(&mut self, node: &Node, keys: &[&str]) {
        for key in node.table.keys() {
            let name = key.get_ref().as_ref();
            if !keys.contains(&name) {
                let wanted = format!("one of {}", keys.join(", "));
                self.fault(
                    key.span(),
                    format!("unknown key `{name}`{}", node.place()),
                    &wanted,
                    "rename or remove it",
                );
            }
        }
    }

    fn get<'t, 'i>(
        &mut self,
        node: &Node<'t, 'i>,
        key: &str,
        wanted: &str,
    ) -> Option<&'t Spanned<DeValue<'i>>> {
        let found = node.table.get(key);
        if found.is_none() {
            let mend = format!("add `{key} = ...`");
            self.fault(
                node.span.clone(),
                format!("no key `{key}`{}", node.place()),
                wanted,
                &mend,
            );
        }
        found
    }

    fn wrong(&mut self, value: &Spanned<DeValue>, key: &str, wanted: &str) {
        let found = format!(
            "{} {} for `{key}`",
            value.get_ref().type_str(),
            self.shown(&value.span())
        );
        self.fault(value.span(), found, wanted, "write the value so");
    }

    /// A text that is not empty.
    pub(super) fn text(&mut self, node: &Node, key: &str) -> Option<String> {
        let wanted = "a text";
        let value = self.get(node, key, wanted)?;
        match value.get_ref().as_str() {
            Some(text) if !text.trim().is_empty() => Some(text.to_owned()),
            _ => {
                self.wrong(value, key, "a text that is not empty");
                None
            }
        }
    }

    /// A finite number.
    pub(super) fn number(&mut self, node: &Node, key: &str) -> Option<f64> {
        self.number_where(node, key, "a number", |_| true)
    }

    /// A finite number that fulfils `fits`; `wanted` says so in words.
    pub(super) fn number_where(
        &mut self,
        node: &Node,
        key: &str,
        wanted: &str,
        fits: impl Fn(f64) -> bool,
    ) -> Option<f64> {
        let value = self.get(node, key, wanted)?;
        let number = number_of(value.get_ref()).filter(|x| fits(*x));
        if number.is_none() {
            self.wrong(value, key, wanted);
        }
        number
    }

    /// A finite number, or nothing where the key is not there.
    pub(super) fn number_if_given(&mut self, node: &Node, key: &str) -> Option<f64> {
        if node.table.contains_key(key) {
            self.number(node, key)
        } else {
            None
        }
    }

    /// `true` or `false`; `false` where the key is not there.
    pub(super) fn flag(&mut self, node: &Node, key: &str) -> Option<bool> {
        let Some(value) = node.table.get(key) else {
            return Some(false);
        };
        let flag = value.get_ref().as_bool();
        if flag.is_none() {
            self.wrong(value, key, "true or false");
        }
        flag
    }

    /// A list of texts.
    pub(super) fn texts(&mut self, node: &Node, key: &str, wanted: &str) -> Option<Vec<String>> {
        let value = self.get(node, key, wanted)?;
        let texts: Option<Vec<String>> = value.get_ref().as_array().and_then(|array| {
            array
                .iter()
                .map(|v| v.get_ref().as_str().map(str::to_owned))
                .collect()
        });
        if texts.is_none() {
            self.wrong(value, key, wanted);
        }
        texts
    }

    /// A ramp, `[zero_at, one_at]`.
    pub(super) fn ramp(&mut self, node: &Node, key: &str) -> Option<Ramp> {
        let wanted = "two numbers `[zero_at, one_at]`, the first smaller";
        let value = self.get(node, key, wanted)?;
        let ramp = pair_of(value.get_ref()).and_then(|(zero_at, one_at)| Ramp::new(zero_at, one_at));
        if ramp.is_none() {
            self.wrong(value, key, wanted);
        }
        ramp
    }

    /// A suitability curve, a list of points `[x, y]`.
    pub(super) fn curve(&mut self, node: &Node, key: &str) -> Option<Curve> {
        let wanted = "a list of points `[x, suitability]`, x increasing, suitability within 0 and 1";
        let value = self.get(node, key, wanted)?;
        let Some(array) = value.get_ref().as_array() else {
            self.wrong(value, key, wanted);
            return None;
        };
        let mut points = Vec::with_capacity(array.len());
        for item in array.iter() {
            let Some(point) = pair_of(item.get_ref()) else {
                self.wrong(item, key, wanted);
                return None;
            };
            points.push(point);
        }
        match Curve::new(points) {
            Ok(curve) => Some(curve),
            Err(error) => {
                let span = match &error {
                    super::SpeciesError::Curve { point, .. } => array.get(*point).map(Spanned::span),
                    _ => None,
                };
                let span = span.unwrap_or_else(|| value.span());
                let found = format!("{} for `{key}`", self.shown(&span));
                self.fault(span, found, wanted, &error.to_string());
                None
            }
        }
    }

    /// A table.
    pub(super) fn table<'t, 'i>(&mut self, node: &Node<'t, 'i>, key: &str) -> Option<Node<'t, 'i>> {
        let value = self.get(node, key, "a table")?;
        let table = node.child(value, key);
        if table.is_none() {
            self.wrong(value, key, "a table");
        }
        table
    }

    /// A table, or nothing where the key is not there.
    pub(super) fn table_if_given<'t, 'i>(&mut self, node: &Node<'t, 'i>, key: &str) -> Option<Node<'t, 'i>> {
        if node.table.contains_key(key) {
            self.table(node, key)
        } else {
            None
        }
    }

    /// A list of tables; empty where the key is not there and may be missing.
    pub(super) fn tables<'t, 'i>(
        &mut self,
        node: &Node<'t, 'i>,
        key: &str,
        needed: bool,
    ) -> Vec<Node<'t, 'i>> {
        let wanted = format!("one or more `[[{key}]]`");
        let value = if needed {
            self.get(node, key, &wanted)
        } else {
            node.table.get(key)
        };
        let Some(value) = value else { return Vec::new() };
        let Some(array) = value.get_ref().as_array() else {
            self.wrong(value, key, &wanted);
            return Vec::new();
        };
        let mut nodes = Vec::with_capacity(array.len());
        for item in array.iter() {
            match node.child(item, key) {
                Some(child) => nodes.push(child),
                None => self.wrong(item, key, &wanted),
            }
        }
        nodes
    }
}

impl<'t, 'i> Node<'t, 'i> {
    pub(super) fn root(table: &'t Spanned<DeTable<'i>>) -> Self {
        Node {
            table: table.get_ref(),
            span: 0..0,
            path: String::new(),
        }
    }

    fn child(&self, value: &'t Spanned<DeValue<'i>>, key: &str) -> Option<Node<'t, 'i>> {
        let table = value.get_ref().as_table()?;
        let path = if self.path.is_empty() {
            key.to_owned()
        } else {
            format!("{}.{key}", self.path)
        };
        Some(Node {
            table,
            span: value.span(),
            path,
        })
    }

    fn place(&self) -> String {
        if self.path.is_empty() {
            String::new()
        } else {
            format!(" in `{}`", self.path)
        }
    }

    /// The text of `key`, where it is one; no fault where it is not.
    pub(super) fn text_of(&self, key: &str) -> Option<String> {
        self.table
            .get(key)
            .and_then(|v| v.get_ref().as_str())
            .map(str::to_owned)
    }

    /// Whether the key is there.
    pub(super) fn has(&self, key: &str) -> bool {
        self.table.contains_key(key)
    }

    /// Place of the value of `key`, or of the table where it has none.
    pub(super) fn span_of(&self, key: &str) -> Range<usize> {
        self.table
            .get(key)
            .map_or_else(|| self.span.clone(), Spanned::span)
    }
}

fn number_of(value: &DeValue) -> Option<f64> {
    let number = match value {
        DeValue::Float(float) => float.as_str().parse::<f64>().ok()?,
        DeValue::Integer(integer) => i64::from_str_radix(integer.as_str(), integer.radix()).ok()? as f64,
        _ => return None,
    };
    number.is_finite().then_some(number)
}

fn pair_of(value: &DeValue) -> Option<(f64, f64)> {
    let array = value.as_array()?;
    match (array.len(), array.first(), array.get(1)) {
        (2, Some(a), Some(b)) => Some((number_of(a.get_ref())?, number_of(b.get_ref())?)),
        _ => None,
    }
}
