//! The style of the page.

use super::palette::Palette;

/// The style sheet. The colours follow the system: light or dark as it asks, and the red night where it asks for the
/// dark with less contrast, the one setting that browsers have for tired or dark-adapted eyes. Whoever wants
/// another one chooses it at the head of the page; the choice needs no script.
pub fn style_sheet() -> String {
    let (light, dark, night) = (Palette::LIGHT.css(), Palette::DARK.css(), Palette::NIGHT.css());
    format!(
        ":root{{color-scheme:light dark;{light}}}\
         @media (prefers-color-scheme:dark){{:root{{{dark}}}}}\
         @media (prefers-color-scheme:dark) and (prefers-contrast:less){{:root{{{night}}}}}\
         :root:has(#light:checked){{color-scheme:light;{light}}}\
         :root:has(#dark:checked){{color-scheme:dark;{dark}}}\
         :root:has(#night:checked){{color-scheme:dark;{night}}}\
         {LAYOUT}"
    )
}

/// Everything but the colours.
const LAYOUT: &str = "\
*{box-sizing:border-box}\
html{font-size:112.5%;-webkit-text-size-adjust:100%;text-size-adjust:100%}\
body{margin:0;background:var(--paper);color:var(--ink);font:1rem/1.5 system-ui,sans-serif;overflow-wrap:break-word}\
main,header,footer{max-width:46rem;margin:0 auto;padding:0 1rem}\
header{padding-top:1rem}\
h1{font-size:1.7rem;line-height:1.2;margin:.2rem 0}\
h2{font-size:1.25rem;line-height:1.25;margin:0}\
h2+p{margin-top:.2rem}\
h3{font-size:1.1rem;margin:1.2rem 0 .3rem}\
p{margin:.5rem 0}\
section{border-top:1px solid var(--rule);padding:1rem 0}\
section.first{background:var(--panel);border:2px solid var(--danger);border-radius:.4rem;padding:1rem;margin:1rem 0}\
.clock{font-size:1.1rem;margin:0}\
.faint,.remark,.interval{color:var(--faint)}\
.remark{font-size:.95rem}\
ul,ol{padding-left:1.4rem;margin:.5rem 0}\
li{margin:.4rem 0}\
dl{display:grid;grid-template-columns:minmax(6.5rem,max-content) minmax(0,1fr);gap:.5rem 1rem;margin:.6rem 0}\
dt{font-weight:700}\
dd{margin:0}\
.notes{grid-template-columns:minmax(0,1fr);gap:0}\
.notes dt{letter-spacing:.03em;margin-top:.6rem}\
.danger{color:var(--danger)}\
.caution{color:var(--caution)}\
dt.faint{font-weight:400}\
.amounts{grid-template-columns:3.6rem minmax(0,1fr);gap:.2rem .8rem}\
.amounts dt{text-align:right;font-variant-numeric:tabular-nums}\
table{border-collapse:collapse;font-variant-numeric:tabular-nums;width:100%;margin:.6rem 0}\
th,td{text-align:right;padding:.3rem .4rem;border-bottom:1px solid var(--rule);vertical-align:baseline}\
thead th{vertical-align:bottom}\
.wide{overflow-x:auto}\
.water td,.water tbody th{white-space:nowrap}\
.shares th{text-align:left;font-weight:600}\
.shares td.bar{width:38%;padding-right:.6rem}\
.shares .share{font-size:1.2rem;font-weight:700;white-space:nowrap}\
.shares .interval{white-space:nowrap}\
.shares small{display:block;font-weight:400}\
svg{display:block;width:100%;height:1.4rem}\
.strip{height:4rem;border-bottom:1px solid var(--rule)}\
.strip .dark{fill:var(--faint);opacity:.45}.strip .half{fill:var(--faint);opacity:.2}.strip .day{fill:var(--panel)}\
.ranks{margin:.6rem 0}.ranks svg{height:4rem}figcaption{color:var(--faint);font-size:.95rem}\
.fill{fill:var(--bar)}\
.curve{height:auto;margin:.6rem 0}\
.curve text{fill:var(--ink);font-size:13px}\
.curve .grid{stroke:var(--rule);stroke-width:1}\
.curve path{fill:none;stroke:var(--bar);stroke-width:2.5;stroke-linejoin:round}\
.curve path.line1{stroke:var(--ink);stroke-width:2;stroke-dasharray:7 4}\
.curve path.line2{stroke:var(--ink);stroke-width:1.6;stroke-dasharray:2 3}\
.curve path.line3{stroke:var(--faint);stroke-width:1.6;stroke-dasharray:10 3 2 3}\
.curve circle{fill:var(--paper);stroke:var(--ink);stroke-width:1.5}\
.span{stroke:var(--ink);stroke-width:1.5;vector-effect:non-scaling-stroke}\
blockquote{margin:.6rem 0;padding:.2rem 0 .2rem .8rem;border-left:.25rem solid var(--danger)}\
blockquote p{margin:0;min-height:1.5em;white-space:pre-wrap}\
a{color:inherit;display:inline-block;max-width:100%;padding:.6rem 0;overflow-wrap:anywhere}\
summary{min-height:2.6rem;padding:.4rem 0;cursor:pointer}\
summary h2{display:inline}\
fieldset{border:1px solid var(--rule);border-radius:.4rem;margin:1rem 0 0;padding:.2rem .6rem;display:flex;flex-wrap:wrap;gap:0 1rem}\
legend{color:var(--faint);font-size:.95rem}\
label{display:inline-flex;align-items:center;gap:.5rem;min-height:2.75rem}\
input{width:1.3rem;height:1.3rem;accent-color:var(--bar)}\
@media (max-width:30rem){dl:not(.amounts){grid-template-columns:minmax(0,1fr);gap:0}dd{margin-bottom:.6rem}\
th,td{padding:.35rem .2rem}.water{font-size:.85rem}\
.shares thead{position:absolute;clip-path:inset(50%);height:1px;overflow:hidden}\
.shares tbody,.shares{display:block}.shares tr{display:grid;grid-template-columns:1fr auto 6.2rem;\
grid-template-areas:\"n s i\" \"b b b\";align-items:baseline;border-bottom:1px solid var(--rule);padding:.3rem 0}\
.shares tr>*{border:0;padding:.1rem .2rem}.shares th{grid-area:n}.shares .share{grid-area:s}\
.shares .interval{grid-area:i}.shares td.bar{grid-area:b;width:100%}.shares small{font-size:.85rem}}\
@media print{fieldset{display:none}section{break-inside:avoid}details>*{display:block}}";
