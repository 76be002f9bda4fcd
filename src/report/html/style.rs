//! The style sheet of the page: the window's paper, one column, A4 and Letter.

/// Colours as the window's paper; text has at least 4.5:1 against its ground (WCAG 2.2, 1.4.3).
pub(super) const STYLE: &str = "\
@page { margin: 16mm 15mm; }
* { box-sizing: border-box; }
html { background: #F1EEE6; }
body { background: #FDFCF9; color: #24262A; max-width: 52rem; margin: 1.5rem auto; padding: 2rem 2.4rem;
  font: 15px/1.45 \"Noto Sans\", \"DejaVu Sans\", \"Liberation Sans\", Helvetica, Arial, sans-serif;
  border: 1px solid #D3CDBF; overflow-wrap: anywhere; }
h1 { font-size: 1.6rem; line-height: 1.2; margin: 0 0 .3rem; padding-bottom: .5rem; border-bottom: 3px solid #24262A; }
h2 { font-size: 1.15rem; margin: 1.9rem 0 .5rem; padding-bottom: .2rem; border-bottom: 1px solid #807C72; }
h3 { font-size: 1rem; margin: 1.2rem 0 .35rem; }
h1, h2, h3 { break-after: avoid; }
p { margin: .45rem 0; }
ul { margin: .4rem 0; padding-left: 1.2rem; }
li { margin: .15rem 0; }
p, li, td, th, caption, figcaption { unicode-bidi: isolate; }
.quiet, figcaption, caption { color: #575756; }
.quiet, figcaption { font-size: .86em; }
.banner { background: #2E2C28; color: #FAF5E8; padding: .5rem .8rem; font-weight: bold; break-inside: avoid; }
.owner { background: #F1EEE6; padding: .2rem 1.1rem .7rem; border-left: 5px solid #24262A; margin: 1rem 0; }
.owner h2 { border: 0; margin: .8rem 0 .2rem; font-size: 1.05rem; }
table { border-collapse: collapse; table-layout: fixed; width: 100%; margin: .6rem 0 1rem; font-size: .86em;
  font-variant-numeric: tabular-nums; }
caption { text-align: left; padding: .2rem 0; font-weight: bold; break-after: avoid; }
th, td { text-align: left; vertical-align: top; padding: .22rem .5rem .22rem 0; border-bottom: 1px solid #D3CDBF;
  font-weight: normal; }
thead th { font-weight: bold; border-bottom: 1px solid #24262A; }
thead { display: table-header-group; }
tbody th { font-weight: bold; }
.facts tbody th { width: 11rem; }
tr, figure, svg, img, .short { break-inside: avoid; }
tbody tr:first-child { break-before: avoid; }
figure { margin: .8rem 0 1.1rem; }
svg, img { display: block; max-width: 100%; height: auto; border: 1px solid #D3CDBF; }
img { max-height: 20cm; }
@media print {
  html, body { background: #FFFFFF; }
  html { font-size: 12px; }
  body { max-width: none; margin: 0; padding: 0; border: 0; font-size: 9.5pt; line-height: 1.35; }
  .owner { break-inside: avoid; }
  .owner, .banner { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
  p, li { orphans: 3; widows: 3; }
}
";
