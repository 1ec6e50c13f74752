//! The style of the HTML part: every element carries its own, for mail readers that drop style sheets; the sheet in its head only
//! turns the colours over where the reader's system is dark.

use crate::faces::html::palette::Palette;

/// Styles of the elements, in the colours of the day.
pub struct Style {
    /// Page.
    pub page: String,
    /// The column.
    pub column: String,
    /// Heading of a section.
    pub heading: String,
    /// Small print.
    pub faint: String,
    /// The box of the cautions.
    pub cautions: String,
    /// The box of a day.
    pub day: String,
    /// A label.
    pub label: String,
    /// What it speaks of.
    pub text: String,
}

const FONT: &str = "font-family:-apple-system,'Segoe UI',Roboto,Helvetica,Arial,sans-serif";

impl Style {
    /// The styles.
    pub fn new() -> Style {
        let p = Palette::LIGHT;
        let (paper, ink, faint) = (p.paper.css(), p.ink.css(), p.faint.css());
        let (rule, danger, panel) = (p.rule.css(), p.danger.css(), p.panel.css());
        Style {
            page: format!(
                "margin:0;padding:0;background:{paper};color:{ink};{FONT};-webkit-text-size-adjust:100%"
            ),
            column: format!(
                "max-width:600px;margin:0 auto;padding:16px;font-size:16px;line-height:1.5;color:{ink};{FONT}"
            ),
            heading: format!(
                "font-size:19px;line-height:1.25;margin:28px 0 6px;padding-top:14px;border-top:1px solid {rule};color:{ink}"
            ),
            faint: format!("color:{faint};font-size:14px;line-height:1.45;margin:4px 0"),
            cautions: format!(
                "background:{panel};border:2px solid {danger};border-radius:8px;padding:4px 14px 10px;margin:18px 0;color:{ink}"
            ),
            day: format!("background:{panel};border-radius:8px;padding:10px 14px;margin:10px 0;color:{ink}"),
            label: format!(
                "padding:3px 12px 3px 0;vertical-align:top;text-align:left;font-weight:700;width:92px;color:{ink}"
            ),
            text: format!("padding:3px 0;vertical-align:top;color:{ink}"),
        }
    }
}

/// The sheet of the head: dark where the system is.
pub fn dark_sheet() -> String {
    let p = Palette::DARK;
    let (paper, ink, faint) = (p.paper.css(), p.ink.css(), p.faint.css());
    let (rule, danger, panel, caution) = (p.rule.css(), p.danger.css(), p.panel.css(), p.caution.css());
    format!(
        ":root{{color-scheme:light dark;supported-color-schemes:light dark}}\
         @media (prefers-color-scheme:dark){{\
         .pg{{background:{paper}!important;color:{ink}!important}}\
         .ik{{color:{ink}!important}}\
         .hd{{color:{ink}!important;border-color:{rule}!important}}\
         .ft{{color:{faint}!important}}\
         .ct{{background:{panel}!important;border-color:{danger}!important;color:{ink}!important}}\
         .dy{{background:{panel}!important;color:{ink}!important}}\
         .pc{{filter:brightness(.85)}}\
         .dg{{color:{danger}!important}}.cn{{color:{caution}!important}}\
         }}"
    )
}

/// Colour of a danger, and of a caution, by day.
pub fn danger() -> String {
    Palette::LIGHT.danger.css()
}

/// See above.
pub fn caution() -> String {
    Palette::LIGHT.caution.css()
}
