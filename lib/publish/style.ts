/**
 * The look of pages: one column of text for reading, rules instead of boxes, colour only where it means something.
 * Colours hold 4.5 : 1 against their ground in light and dark.
 */
export const PAGE_CSS = `
:root {
  color-scheme: light dark;
  --paper: #fcfbf8; --ink: #22252a; --quiet: #5b616b; --rule: #d9d6ce; --tint: #f3f1eb;
  --accent: #9c4413; --good: #3f6d4e; --code-word: #7a3e9d; --code-text: #2f6b3a; --code-number: #9c4413;
  --band: #d8e0cf; --plate: #ffffff; --bad: #a32626;
  --serif: "Charter", "Bitstream Charter", "Iowan Old Style", "Palatino Linotype", "Source Serif 4", Georgia, "DejaVu Serif", serif;
  --sans: "Inter", "Helvetica Neue", "Segoe UI", Arial, "DejaVu Sans", sans-serif;
  --mono: "SFMono-Regular", "Cascadia Mono", "DejaVu Sans Mono", Consolas, monospace;
}
@media (prefers-color-scheme: dark) {
  :root {
    --paper: #17191c; --ink: #dcdad4; --quiet: #a3a6ac; --rule: #3a3d42; --tint: #202327;
    --accent: #e79a6b; --good: #8fc29e; --code-word: #cda2e8; --code-text: #9fcfa8; --code-number: #e7a987;
    --band: #34402f; --plate: #f4f3ef; --bad: #f09a94;
  }
}
* { box-sizing: border-box; }
html { scroll-behavior: smooth; -webkit-text-size-adjust: 100%; }
@media (prefers-reduced-motion: reduce) { html { scroll-behavior: auto; } }
body { margin: 0; background: var(--paper); color: var(--ink); font: 1.0625rem/1.62 var(--serif); }
.page { max-width: 46rem; margin: 0 auto; padding: 2.5rem 1.25rem 4rem; }
a { color: var(--accent); text-decoration-thickness: 0.06em; text-underline-offset: 0.18em; }
.callout { margin: 1.5rem 0; padding: 0.7rem 1.1rem; border-left: 3px solid var(--accent); background: var(--tint); }
.callout.note, .callout.tip { border-left-color: var(--good); }
.callout > :last-child { margin-bottom: 0; }
.callout-title { font: 600 0.875rem var(--sans); margin: 0 0 0.3rem; }
a:focus-visible, summary:focus-visible, button:focus-visible, [tabindex]:focus-visible { outline: 2px solid var(--accent); outline-offset: 3px; }
.skip { position: absolute; left: -100vw; }
.skip:focus { left: 1rem; top: 0.5rem; background: var(--paper); padding: 0.4rem 0.8rem; z-index: 1; }
h1, h2, h3, h4 { font-weight: 600; line-height: 1.25; text-wrap: balance; }
h1 { font-size: clamp(1.75rem, 1.3rem + 2vw, 2.4rem); margin: 0.2rem 0 0.7rem; letter-spacing: -0.01em; }
h2 { font-size: 1.4rem; margin: 3rem 0 0.8rem; }
h3 { font-size: 1.12rem; margin: 2rem 0 0.5rem; }
p, ul, ol { margin: 0 0 1rem; }
li + li { margin-top: 0.25rem; }
blockquote { margin: 1.5rem 0; padding: 0.1rem 0 0.1rem 1.1rem; border-left: 3px solid var(--accent); }
blockquote p:last-child { margin-bottom: 0; }
hr { border: 0; border-top: 1px solid var(--rule); margin: 2.5rem 0; }
img { max-width: 100%; height: auto; }
.kicker, .by, .note, figcaption, caption, dt, summary, nav, footer, button { font-family: var(--sans); }
.kicker { font-size: 0.8rem; letter-spacing: 0.04em; color: var(--quiet); margin: 0; }
.by { font-size: 0.875rem; color: var(--quiet); margin: 0 0 1.5rem; }
.abstract { font-size: 1.125rem; margin: 2rem 0 0; }

.verdict { border-top: 3px solid var(--ink); border-bottom: 1px solid var(--rule); padding: 1.1rem 0 0.6rem; margin: 1.6rem 0 0; }
.verdict h2 { font-size: 1.0625rem; font-weight: 400; font-style: italic; margin: 0 0 0.5rem; color: var(--quiet); }
.verdict .state { font-size: clamp(1.7rem, 1.3rem + 1.8vw, 2.3rem); line-height: 1.15; font-weight: 600; letter-spacing: -0.01em; margin: 0 0 0.6rem; }
.verdict .words { margin-bottom: 1.2rem; }
.verdict dl { margin: 1rem 0 0; font-size: 0.9375rem; line-height: 1.5; }
.verdict dl div { display: grid; grid-template-columns: 8.5rem 1fr; gap: 1rem; padding: 0.45rem 0; border-top: 1px solid var(--rule); }
.verdict dt { color: var(--quiet); font-size: 0.8125rem; padding-top: 0.12rem; }
.verdict dd { margin: 0; font-variant-numeric: tabular-nums lining-nums; }
.interval-picture { display: block; overflow: visible; font: 0.8125rem var(--sans); font-variant-numeric: tabular-nums; }
.interval-picture text { fill: var(--quiet); }
.interval-picture .worthwhile { fill: var(--band); }
.interval-picture .axis { stroke: var(--quiet); stroke-width: 1; }
.interval-picture .zero { stroke: var(--ink); stroke-width: 1.5; }
.interval-picture .interval { stroke: var(--accent); stroke-width: 3; }
.interval-picture .estimate { fill: var(--accent); stroke: var(--paper); stroke-width: 2; }
.legend { font: 0.8125rem/1.4 var(--sans); color: var(--quiet); margin: 0.3rem 0 0; }

nav { font-size: 0.875rem; margin: 2.5rem 0 0; }
nav h2 { font: 600 0.8125rem var(--sans); color: var(--quiet); margin: 0 0 0.4rem; }
nav ol { list-style: none; margin: 0; padding: 0; columns: 2; column-gap: 2rem; }
nav li { break-inside: avoid; margin: 0; padding: 0.15rem 0; }
nav a { color: inherit; text-decoration-color: var(--rule); }
nav a:hover { text-decoration-color: currentColor; }

figure { margin: 1.8rem 0; }
.plate { background: var(--plate); border-radius: 3px; padding: 0.4rem; }
.plate img { display: block; width: 100%; }
.live { overflow: hidden; }
.live .modebar-btn:focus-visible { outline: 2px solid #9c4413 !important; outline-offset: 1px; }
.live .modebar:focus-within { opacity: 1 !important; }
.live:focus-visible { outline-offset: -2px; }
.said { font: 0.8125rem/1.4 var(--sans); color: var(--quiet); margin: 0.3rem 0 0; }
.said:empty { display: none; }
[hidden] { display: none !important; }
figcaption, caption { font-size: 0.875rem; line-height: 1.5; color: var(--quiet); text-align: left; }
figcaption { margin-top: 0.6rem; }
figcaption b, caption b { color: var(--ink); font-weight: 600; }
.exercise { margin: 1.6rem 0 0; padding: 0.2rem 1.1rem 0.4rem; border-left: 3px solid var(--good); background: var(--tint); }
.exercise h3 { margin-top: 0.6rem; }
.room { margin: 0 0 1.6rem; padding: 0.4rem 1.1rem; min-height: 7rem; border: 1px dashed var(--rule); border-top: 0; color: var(--quiet); }
details.answer { margin: 0 0 1.6rem; padding: 0.4rem 1.1rem; border: 1px solid var(--rule); }
details.answer > summary { font: 600 0.9375rem var(--sans); cursor: pointer; padding: 0.4rem 0; }
.scroll { overflow-x: auto; margin: 1.6rem 0; }
table { border-collapse: collapse; font: 0.875rem/1.45 var(--sans); font-variant-numeric: tabular-nums lining-nums; min-width: 50%; }
caption { padding-bottom: 0.6rem; max-width: calc(100vw - 2.5rem); }
.word { white-space: nowrap; }
th, td { padding: 0.4rem 1.4rem 0.4rem 0; text-align: left; vertical-align: top; border-bottom: 1px solid var(--rule); }
th:last-child, td:last-child { padding-right: 0; }
thead th { border-bottom: 1.5px solid var(--ink); font-weight: 600; vertical-align: bottom; }
.number { text-align: right; white-space: nowrap; }
.unit { font-weight: 400; color: var(--quiet); }

details { margin: 0.9rem 0 0.5rem; }
details.code + .scroll, details.code + figure { margin-top: 0.8rem; }
summary { font-size: 0.8125rem; color: var(--quiet); cursor: pointer; padding: 0.2rem 0; }
summary:hover { color: var(--ink); }
pre, code { font-family: var(--mono); font-size: 0.8125rem; }
pre { line-height: 1.55; margin: 0.4rem 0 1rem; padding: 0.8rem 1rem; background: var(--tint); border-radius: 3px; overflow-x: auto; }
p code, li code, td code { font-size: 0.875em; background: var(--tint); padding: 0.08em 0.3em; border-radius: 3px; }
details.code { position: relative; }
button.copy { position: absolute; right: 0.5rem; top: 2.4rem; padding: 0.1rem 0.5rem; background: var(--tint); font-size: 0.75rem; }
pre.text { white-space: pre-wrap; overflow-wrap: anywhere; }
pre.stderr, pre.error { border-left: 3px solid var(--bad); }
.note { font-size: 0.8125rem; color: var(--quiet); margin: 1rem 0 0.2rem; }
.hljs-keyword, .hljs-literal, .hljs-built_in { color: var(--code-word); }
.hljs-string, .hljs-regexp { color: var(--code-text); }
.hljs-number { color: var(--code-number); }
.hljs-comment { color: var(--quiet); font-style: italic; }
.katex-display { overflow-x: auto; overflow-y: hidden; padding: 0.6em 0; }
button { font-size: 0.8125rem; color: inherit; background: none; border: 1px solid var(--quiet); border-radius: 3px; padding: 0.3rem 0.7rem; cursor: pointer; }
button[aria-pressed="true"] { background: var(--tint); }
.tools { margin: 1.5rem 0; }
.footnotes { font-size: 0.9rem; }
.footnotes-sep { width: 6rem; margin: 2rem 0 1rem; }

footer { border-top: 3px solid var(--ink); margin-top: 4rem; padding-top: 1rem; font-size: 0.875rem; line-height: 1.55; }
footer h2 { font: 600 1rem var(--sans); margin: 0 0 0.6rem; }
footer dl { margin: 0; }
footer dl div { display: grid; grid-template-columns: 8.5rem 1fr; gap: 1rem; padding: 0.35rem 0; }
footer dt { color: var(--quiet); font-size: 0.8125rem; padding-top: 0.05rem; }
footer dd { margin: 0; overflow-wrap: anywhere; }
footer ul { list-style: none; margin: 0; padding: 0; }
footer details { margin: 0; }
footer summary { padding: 0; }
.hash { font: 0.75rem/1.5 var(--mono); color: var(--quiet); }

.report { list-style: none; padding: 0; margin: 1.2rem 0 0; font: 0.875rem/1.5 var(--sans); }
.report li { display: grid; grid-template-columns: 7rem 1fr; gap: 1rem; padding: 0.5rem 0; margin: 0; border-top: 1px solid var(--rule); }
.report p { margin: 0; }
.report .item { font-weight: 600; }
.report .outcome { white-space: nowrap; }
.report .outcome.not-met { color: var(--bad); font-weight: 600; }
.report .outcome.not-stated, .report .source { color: var(--quiet); }
.report .source::before { content: "["; }
.report .source::after { content: "]"; }

.filters { display: flex; flex-wrap: wrap; gap: 0.6rem 1.2rem; align-items: baseline; font: 0.875rem/1.5 var(--sans); margin: 1.5rem 0 0; }
.filters input, .filters select { font: inherit; color: inherit; background: var(--paper); border: 1px solid var(--quiet); border-radius: 3px; padding: 0.2rem 0.4rem; max-width: 12rem; }
.filters input:focus-visible, .filters select:focus-visible { outline: 2px solid var(--accent); outline-offset: 2px; }
.filters .note { margin: 0; }
.pages { list-style: none; padding: 0; margin: 2rem 0; }
.pages li { border-top: 1px solid var(--rule); padding: 1.2rem 0; margin: 0; }
.pages h2 { margin: 0 0 0.2rem; font-size: 1.2rem; }
.pages p { margin: 0.2rem 0 0; }
.pages .state { font-weight: 600; }

@media (max-width: 600px) {
  body { font-size: 1rem; }
  .page { padding-top: 1.5rem; }
  nav ol { columns: 1; }
  .wordy thead { position: absolute; clip-path: inset(50%); }
  .wordy tr { display: block; padding: 0.5rem 0; border-bottom: 1px solid var(--rule); }
  .wordy td { display: grid; grid-template-columns: 5.5rem 1fr; gap: 0.6rem; border: 0; padding: 0.1rem 0; text-align: left; white-space: normal; }
  .wordy td:first-child { font-weight: 600; }
  .wordy td::before { content: attr(data-label); font-weight: 400; color: var(--quiet); }
  .wordy td.empty { display: none; }
  .report li { grid-template-columns: 1fr; gap: 0.1rem; }
  .verdict dl div, footer dl div { grid-template-columns: 1fr; gap: 0; }
  .plate { padding: 0.25rem 0; margin: 0 -1.25rem; border-radius: 0; }
}
@media (forced-colors: active) {
  .interval-picture .worthwhile { fill: GrayText; }
  .interval-picture .interval, .interval-picture .axis, .interval-picture .zero { stroke: CanvasText; }
  .interval-picture .estimate { fill: CanvasText; stroke: Canvas; }
  .interval-picture text { fill: CanvasText; }
  .plate { forced-color-adjust: none; }
  button[aria-pressed="true"] { border: 2px solid Highlight; }
}
@media print {
  @page { margin: 16mm 15mm; }
  :root { color-scheme: light; --paper: #fff; --ink: #000; --quiet: #444; --rule: #bbb; --tint: #f4f4f4; --accent: #7a340e; --plate: #fff; --band: #e4e9de; --good: #2b5138; --bad: #8a1f1f; --code-word: #5f2c80; --code-text: #22512b; --code-number: #7a340e; }
  html { -webkit-print-color-adjust: exact; print-color-adjust: exact; }
  body { font-size: 10.5pt; }
  .page { max-width: none; padding: 0; }
  .skip, .tools, .filters, nav, .said, button, details.code:not([open]), details.numbers:not([open]) { display: none !important; }
  figure, .verdict dl div, .interval-picture, .short, tr, blockquote, .callout, .footnotes li, .report li, footer dl li { break-inside: avoid; }
  figure img { max-height: 200mm; object-fit: contain; }
  h2, h3, caption, summary, thead, thead tr { break-after: avoid; }
  .verdict { padding-top: 0.6rem; }
  .verdict .words, .verdict dl { margin-top: 0.5rem; }
  thead { display: table-header-group; }
  p, li { orphans: 3; widows: 3; }
  .plot .live { display: none !important; }
  .plot picture[hidden] { display: block !important; }
  main a[href^="http"]::after { content: " (" attr(href) ")"; font-size: 0.85em; overflow-wrap: anywhere; }
  .scroll { overflow: visible; }
  table { max-width: 100%; }
  .wordy { font-size: 8pt; line-height: 1.3; }
  .wordy th, .wordy td { padding: 0.2rem 0.7rem 0.2rem 0; }
  pre { white-space: pre-wrap; }
}
`.trim();
