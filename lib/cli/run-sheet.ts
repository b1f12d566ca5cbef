import {escapeHtml} from "../publish/html.ts";
import {document} from "../publish/page.ts";
import {PAGE_CSS} from "../publish/style.ts";
import type {PlanDocument} from "../result/plan-document.ts";
import type {SheetCell} from "../result/run-sheet.ts";
import type {Session} from "../result/session.ts";
import {fromSI} from "../units/unit.ts";
import {SETTLING_RUNS} from "./plan-budget.ts";
import {RUN_SHEET_SCRIPT} from "./run-sheet-script.ts";
import {RUN_SHEET_CSS} from "./run-sheet-style.ts";

/** A pull begins this far below its band, so that the car is at full throttle and settled where it starts [km/h]. */
const ROLL_IN = "5–10 km/h";
/** R83 text and SAE J1321 (2012), from memory: mean wind, and its change between segments [m/s]. */
const WIND_MPS = 3;
const WIND_CHANGE_MPS = 2.2;

interface Column {
  cell: SheetCell;
  title: string;
  unit?: string;
  /** keyboard that a phone shows */
  mode: "decimal" | "text";
  /** blind tests only */
  isBlind?: boolean;
}

/** Columns to fill in, in the order in which they are read off. */
export const SHEET_COLUMNS: readonly Column[] = [
  {cell: "start", title: "start", mode: "text"},
  {cell: "air", title: "air", unit: "°C", mode: "decimal"},
  {cell: "intake", title: "intake", unit: "°C", mode: "decimal"},
  {cell: "coolant", title: "coolant", unit: "°C", mode: "decimal"},
  {cell: "fuel", title: "fuel", unit: "l", mode: "decimal"},
  {cell: "tyresCold", title: "tyres cold", unit: "bar", mode: "decimal"},
  {cell: "tyresHot", title: "tyres hot", unit: "bar", mode: "decimal"},
  {cell: "wind", title: "wind", unit: "m/s", mode: "text"},
  {cell: "traffic", title: "traffic", mode: "text"},
  {cell: "guess", title: "guess", mode: "text", isBlind: true},
  {cell: "remarks", title: "remarks", mode: "text"},
];

const VOIDS = [
  "another vehicle in the way, or a lift of the foot, inside the band",
  "a shift or a slipping wheel inside the band; another gear",
  "the pull began above the lower end of the band",
  "receiver moved, recorder stopped or without satellites",
  "climate control on, a window open, another load than in the other runs",
];

/**
 * The run sheet of a plan: one page to print, or to fill in on a phone without network. What is typed stays in the browser under the
 * plan's lock, and is saved as a file for `gather --sheet`.
 *
 * @param document as `plan` makes it, with its plan
 */
export function runSheet(session: Session, {plan, seal, power}: PlanDocument): string {
  if (plan === null) throw new RangeError("runSheet: the document has no plan");
  const {band} = session;
  const speed = (mps: number) => `${Number(fromSI(mps, band.unit).toPrecision(6))}`;
  const bandWords = `${speed(band.fromMps)}–${speed(band.toMps)} ${band.unit}${band.gear === null ? "" : `, gear ${band.gear}`}`;
  const isBlind = seal !== null;
  const columns = SHEET_COLUMNS.filter(column => isBlind || !column.isBlind);
  const names = session.written["arms"] as Record<string, string>;
  const checks = [
    "car warm, tyres too; part and tools at hand",
    "receiver fixed with a clear view of the sky, not moved again today",
    "recorder running, 10 Hz or more; clock noted",
    "climate control off, windows shut; traction and driving mode as on every run",
    `roll in ${ROLL_IN} below the band, in ${band.gear === null ? "its gear" : `gear ${band.gear}`}; automatics held in gear`,
    "same fuel, same people, same load; tyre pressures noted cold",
    `go only if the road is dry and the wind below ${WIND_MPS} m/s; stop when it has changed by ${WIND_CHANGE_MPS} m/s`,
    "the same minutes between runs, or each starts at the same intake temperature",
  ];
  const row = (key: string, name: string, {arm, direction}: {arm: string | null; direction: string}) =>
    `<tr data-row="${key}"><th scope="row">${name}</th><td class="arm" data-label="arm">${escapeHtml(arm ?? "settling")}</td><td data-label="way">${direction}</td>` +
    `<td class="tick" data-label="driven"><input type="checkbox" name="${key}.driven" aria-label="${name} driven"></td>` +
    `<td class="tick" data-label="void"><input type="checkbox" name="${key}.isVoid" aria-label="${name} void"></td>` +
    columns
      .map(
        ({cell, title, unit, mode}) =>
          `<td class="${cell}" data-label="${title}${unit ? `, ${unit}` : ""}"><input type="text" inputmode="${mode}" name="${key}.${cell}" aria-label="${name} ${title}${unit ? ` in ${unit}` : ""}" autocomplete="off" maxlength="300"></td>`,
      )
      .join("") +
    "</tr>";
  const settling = Array.from({length: SETTLING_RUNS}, (_, i) =>
    row(`s${i + 1}`, `S${i + 1}`, {arm: null, direction: plan.ways === "both" && i % 2 ? "back" : "out"}),
  );
  const counted = plan.schedule.map(run => row(String(run.run), String(run.run), run));
  const refit = plan.refit ? " The part is fitted anew before every run, also where it stays the same." : "";
  const arms = isBlind
    ? "Arms are the letters A and B; the helper who changes the part has the key. Guess before you see a time."
    : `baseline = ${names["baseline"]}; changed = ${names["changed"]}.`;
  const main = [
    `<main id="content"><header><p class="kicker">fairpull · run sheet${isBlind ? " · sealed labels" : ""}</p><h1>${escapeHtml(session.question)}</h1>`,
    `<p class="facts"><b>${escapeHtml(bandWords)}</b> · ${plan.runs} runs, ${escapeHtml(plan.order)}, seed ${plan.seed} · worthwhile ${escapeHtml(String(session.written["worthwhile"]))}${power?.shows == null ? "" : ` · shows ${Number(power.shows.toPrecision(2))} ${power.unit} with ${Math.round(100 * power.chance)} %`}. ${escapeHtml(arms)}${refit}</p></header>`,
    `<p class="callout caution" role="note">Closed or permitted road, at legal speed; a second person for the notes and the laptop. Let exhaust, brakes and coolant cool before you touch them. High tension of an ignition can kill: engine off, key out. Local law and licensed practice come first.</p>`,
    `<div class="lists"><section><h2>Before the first counted run</h2><ul class="ticks">${checks
      .map(
        (words, i) =>
          `<li><label><input type="checkbox" name="check.${i}" data-words="${escapeHtml(words)}"> ${escapeHtml(words)}</label></li>`,
      )
      .join("")}</ul></section>`,
    `<section><h2>Void, decided before the time is seen</h2><ul>${VOIDS.map(words => `<li>${escapeHtml(words)}</li>`).join("")}</ul><p>A void run stays on the sheet, keeps its place, and its log stays in the folder. Wind: + against the car.</p></section></div>`,
    `<div class="scroll"><table><thead><tr><th scope="col">run</th><th scope="col">arm</th><th scope="col">way</th><th scope="col">driven</th><th scope="col">void</th>${columns
      .map(
        ({cell, title, unit}) =>
          `<th scope="col" class="${cell}">${title}${unit ? `<br><span class="unit">${unit}</span>` : ""}</th>`,
      )
      .join("")}</tr></thead><tbody>${[...settling, ...counted].join("")}</tbody></table></div>`,
    `<p class="day"><label>Of the day (date, air pressure, weather, who drove) <input type="text" name="day" autocomplete="off" maxlength="2000"></label></p>`,
    `<p class="tools"><button type="button" id="save">Save as file for gather</button> <button type="button" id="clear">Empty the sheet</button> <span id="state" role="status"></span></p>`,
    `<p class="hash">plan ${plan.locked}${seal === null ? "" : `<br>seal ${seal.commitment}`}</p></main>`,
  ].join("\n");
  const data = {
    locked: plan.locked,
    rows: [
      ...settling.map((_, i) => ({
        key: `s${i + 1}`,
        run: null,
        arm: null,
        direction: plan.ways === "both" && i % 2 ? "back" : "out",
      })),
      ...plan.schedule.map(({run, arm, direction}) => ({key: String(run), run, arm, direction})),
    ],
    cells: columns.map(({cell}) => cell),
  };
  return document({
    title: `Run sheet: ${session.question}`,
    css: PAGE_CSS + RUN_SHEET_CSS,
    description: null,
    main,
    data: `<script type="application/json" id="sheet">${JSON.stringify(data).replaceAll("<", "\\u003c")}</script>`,
    script: RUN_SHEET_SCRIPT,
  });
}
