//! What makes fish easier or harder to catch where they are, as data. It moves the catch that is expected,
//! never the shares.

use super::walk::{Node, Walk};
use super::{Curve, Ramp};

/// How far off trout see prey, relative to clear water.
#[derive(Debug, Clone, PartialEq)]
pub struct ReactionDistance {
    /// Relative distance over turbidity in NTU; every value above 0.
    pub relative: Curve,
    /// Relative distance that none falls below; above 0.
    pub floor_frac: f64,
}

/// The response of one term of catchability.
#[derive(Debug, Clone, PartialEq)]
pub enum CatchResponse {
    /// Logarithm of the relative reaction distance in turbid water.
    ReactionDistance(ReactionDistance),
    /// Fish in warm water.
    WarmFish {
        /// Ramp of the temperature where the fish are, degC.
        fish_degc: Ramp,
    },
    /// Share of the trip between first light and sunrise, or sunset and last light.
    HalfLight,
}

impl CatchResponse {
    /// The names that a species file may use.
    pub const NAMES: [&'static str; 3] = ["reaction_distance", "warm_fish", "half_light"];
}

/// One term: a coefficient in the logarithm of the catch per hour, times a response of today's drivers.
#[derive(Debug, Clone, PartialEq)]
pub struct CatchRow {
    /// Id, unique in the file.
    pub id: String,
    /// What it says, in plain words.
    pub label: String,
    /// Response function with its parameters.
    pub response: CatchResponse,
    /// Prior mean of the coefficient; logarithm of the catch for a response of 1.
    pub mean: f64,
    /// Prior standard deviation.
    pub sd: f64,
    /// How strong the evidence is.
    pub evidence: String,
    /// Source.
    pub source: String,
}

/// The terms of the file; none where it has none.
pub(super) fn read_catchability(walk: &mut Walk, root: &Node) -> Option<Vec<CatchRow>> {
    let tables = walk.tables(root, "catchability", false);
    let rows: Vec<Option<CatchRow>> = tables.iter().map(|t| read_row(walk, t)).collect();
    for (i, node) in tables.iter().enumerate() {
        let Some(row) = &rows[i] else { continue };
        if rows[..i].iter().flatten().any(|other| other.id == row.id) {
            walk.fault(
                node.span_of("id"),
                format!("term `{}` twice", row.id),
                "an id of its own",
                "rename one of them",
            );
        }
    }
    rows.into_iter().collect()
}

fn read_row(walk: &mut Walk, node: &Node) -> Option<CatchRow> {
    walk.only(
        node,
        &[
            "id",
            "label",
            "response",
            "parameters",
            "mean",
            "sd",
            "evidence",
            "source",
        ],
    );
    let id = walk.text(node, "id");
    let label = walk.text(node, "label");
    let response = read_response(walk, node);
    let mean = walk.number(node, "mean");
    let sd = walk.number_where(node, "sd", "a number of at least 0", |x| x >= 0.0);
    let evidence = walk.text(node, "evidence");
    let source = walk.text(node, "source");
    Some(CatchRow {
        id: id?,
        label: label?,
        response: response?,
        mean: mean?,
        sd: sd?,
        evidence: evidence?,
        source: source?,
    })
}

fn read_response(walk: &mut Walk, node: &Node) -> Option<CatchResponse> {
    let name = walk.text(node, "response")?;
    match name.as_str() {
        "reaction_distance" => {
            let p = walk.table(node, "parameters")?;
            walk.only(&p, &["relative_at_ntu", "floor_frac"]);
            let relative = walk.curve(&p, "relative_at_ntu");
            let floor = walk.number_where(&p, "floor_frac", "a number above 0, at most 1", |x| {
                x > 0.0 && x <= 1.0
            });
            let relative = relative?;
            if relative.points().iter().any(|(_, y)| *y <= 0.0) {
                walk.fault(
                    p.span_of("relative_at_ntu"),
                    "a relative distance of 0".to_owned(),
                    "distances above 0, for their logarithm is taken",
                    "end the points before it, and give `floor_frac`",
                );
                return None;
            }
            Some(CatchResponse::ReactionDistance(ReactionDistance {
                relative,
                floor_frac: floor?,
            }))
        }
        "warm_fish" => {
            let p = walk.table(node, "parameters")?;
            walk.only(&p, &["fish_degc"]);
            Some(CatchResponse::WarmFish {
                fish_degc: walk.ramp(&p, "fish_degc")?,
            })
        }
        "half_light" => {
            if let Some(parameters) = walk.table_if_given(node, "parameters") {
                walk.only(&parameters, &[]);
            }
            Some(CatchResponse::HalfLight)
        }
        _ => {
            walk.fault(
                node.span_of("response"),
                format!("`{name}`"),
                &format!("one of {}", CatchResponse::NAMES.join(", ")),
                "name one of these response functions",
            );
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::species::{CatchResponse, SpeciesError, builtin, read_species};

    const RAINBOW: &str = include_str!("../../config/species/rainbow-trout.toml");

    fn wanted_of(text: &str) -> Vec<String> {
        match read_species(text, "rainbow-trout", "rainbow-trout.toml") {
            Ok(_) => Vec::new(),
            Err(SpeciesError::Faulty { faults, .. }) => faults.into_iter().map(|f| f.wanted).collect(),
            Err(other) => panic!("{other}"),
        }
    }

    #[test]
    fn the_terms_of_the_rainbow_file_are_read() {
        let rainbow = builtin("rainbow-trout").unwrap();
        let [turbid, warm, light] = &rainbow.catchability[..] else {
            panic!("{:?}", rainbow.catchability)
        };
        assert!(matches!(turbid.response, CatchResponse::ReactionDistance(_)));
        assert_eq!((turbid.mean, turbid.sd), (1.0, 0.4));
        assert_eq!((warm.mean, warm.sd), (-0.8, 0.4));
        assert_eq!(
            (light.response.clone(), light.mean),
            (CatchResponse::HalfLight, 0.2)
        );
    }

    #[test]
    fn an_unknown_response_a_distance_of_nothing_and_a_term_twice_are_faults() {
        let unknown = RAINBOW.replace("response = \"half_light\"", "response = \"moonlight\"");
        assert_eq!(
            wanted_of(&unknown),
            ["one of reaction_distance, warm_fish, half_light"]
        );
        let nothing = RAINBOW.replace("[30, 0.45]", "[30, 0]");
        assert_eq!(
            wanted_of(&nothing),
            ["distances above 0, for their logarithm is taken"]
        );
        let twice = RAINBOW.replace("id = \"C3\"", "id = \"C2\"");
        assert_eq!(wanted_of(&twice), ["an id of its own"]);
    }

    #[test]
    fn a_file_without_terms_has_none() {
        let cut = &RAINBOW[..RAINBOW.find("[[catchability]]").unwrap()];
        let rules = &RAINBOW[RAINBOW.find("[[rules]]").unwrap()..];
        let text = if cut.contains("[[rules]]") {
            cut.to_owned()
        } else {
            format!("{cut}{rules}")
        };
        let species = read_species(&text, "rainbow-trout", "rainbow-trout.toml").unwrap();
        assert!(species.catchability.is_empty());
    }
}
