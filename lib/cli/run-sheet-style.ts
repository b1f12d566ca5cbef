/** The run sheet: a card a run on a phone, a table on a desk, one page of paper for 16 runs. */
export const RUN_SHEET_CSS = `
.page { max-width: 72rem; }
h1 { font-size: 1.5rem; }
h2 { font-size: 1.05rem; margin: 1rem 0 0.4rem; }
.facts { font: 0.9375rem/1.5 var(--sans); margin: 0 0 0.8rem; overflow-wrap: anywhere; }
.caution { font: 0.875rem/1.45 var(--sans); margin: 0.8rem 0; }
.lists { display: grid; grid-template-columns: 1fr 1fr; gap: 0 2rem; font: 0.875rem/1.45 var(--sans); }
.lists ul { margin: 0 0 0.6rem; padding-left: 1.1rem; }
.lists .ticks { list-style: none; padding: 0; }
.lists p { margin: 0; }
.lists label { display: flex; gap: 0.5rem; align-items: baseline; }
table { width: 100%; }
th, td { padding: 0.15rem 0.3rem 0.15rem 0; }
td input[type="text"], .day input { font: inherit; color: inherit; width: 100%; min-width: 2.6rem; background: var(--paper); border: 1px solid var(--rule); border-radius: 3px; padding: 0.25rem 0.3rem; }
input:focus-visible { outline: 2px solid var(--accent); outline-offset: 1px; }
input[type="checkbox"] { accent-color: var(--accent); width: 1.1rem; height: 1.1rem; flex: none; }
td.remarks input { min-width: 8rem; }
td.arm { font-weight: 600; }
.day label { font: 0.875rem/1.5 var(--sans); }
.hash { overflow-wrap: anywhere; margin: 0; }
#state { font: 0.875rem var(--sans); color: var(--quiet); }
@media screen and (max-width: 50rem) {
  .lists { grid-template-columns: 1fr; }
  table, tbody { display: block; }
  thead { display: none; }
  tr { display: grid; grid-template-columns: repeat(4, 1fr); gap: 0.4rem 0.5rem; border-top: 1.5px solid var(--ink); padding: 0.7rem 0; }
  tr > * { display: block; border: 0; padding: 0; }
  tr th { font-size: 1.2rem; }
  td::before { content: attr(data-label); display: block; font-size: 0.75rem; color: var(--quiet); }
  td.traffic, td.guess + td.remarks { grid-column: span 3; }
  td.traffic + td.remarks { grid-column: span 4; }
  td input[type="text"] { min-height: 2.4rem; font-size: 1rem; }
  td input[type="checkbox"] { width: 1.6rem; height: 1.6rem; }
  button { padding: 0.7rem 1rem; }
}
@media print {
  @page { margin: 8mm; }
  :root { --paper: #fff; --ink: #000; --quiet: #333; --rule: #888; --tint: #fff; }
  .page { max-width: none; padding: 0; }
  .tools, .skip { display: none; }
  body { font-size: 8pt; line-height: 1.25; }
  h1 { font-size: 12pt; margin: 0 0 1mm; }
  h2 { font-size: 8.5pt; margin: 1mm 0 0.5mm; }
  .kicker { font-size: 7pt; }
  .facts { font-size: 8pt; line-height: 1.3; margin: 0 0 1mm; }
  .caution { font-size: 7.5pt; line-height: 1.25; margin: 1mm 0; padding: 1mm 2mm; }
  .lists { font-size: 7.5pt; line-height: 1.25; gap: 0 5mm; }
  .lists ul { margin: 0; }
  .lists input[type="checkbox"], td input[type="checkbox"] { width: 3mm; height: 3mm; }
  .scroll { overflow: visible; margin: 1.5mm 0; }
  table { font-size: 7.5pt; line-height: 1.15; table-layout: auto; }
  th, td { padding: 0.4mm 0.8mm; border: 0.2mm solid #888; vertical-align: middle; }
  td input[type="text"] { border: 0; min-width: 0; padding: 0; height: 6.2mm; background: none; }
  td.remarks input { min-width: 0; }
  th.remarks { width: 22%; }
  th.traffic { width: 9%; }
  .day { margin: 1mm 0; }
  .day input { border: 0; border-bottom: 0.2mm solid #888; border-radius: 0; }
  .hash { font-size: 6pt; line-height: 1.2; }
}
`;
