import {type Table, table} from "../figures/table.ts";
import type {CoastdownDocument, LoadTerm} from "../result/coastdown-document.ts";
import type {IntervalRecord} from "../result/documents.ts";
import {STANDARD_GRAVITY_MPS2} from "../units/table.ts";
import {fromSI} from "../units/unit.ts";
import {minus} from "./words.ts";

const TERM_WORDS = {
  F0: "F0, constant",
  F1: "F1, times speed",
  F2: "F2, times speed²",
};
const TERM_DIGITS = {F0: 1, F1: 2, F2: 4, force: 1};

/**
 * The road load in both usual forms, F0/F1/F2 and drag area with rolling coefficient, with intervals; then the force at some
 * speeds. Intervals hold the spread of the runs; mass and air density are taken as known.
 */
export function roadLoadTable(result: CoastdownDocument): Table {
  const {terms, forces, mass, air, df} = result;
  const row = (name: string, {estimate, interval}: Shown, digits: number, unit: string) => [
    unit === "" ? name : `${name} [${unit}]`,
    minus(estimate.toFixed(digits)),
    interval ? `${minus(interval.low.toFixed(digits))} to ${minus(interval.high.toFixed(digits))}` : null,
  ];
  const scaled = ({estimate, interval}: LoadTerm, by: number): Shown => ({
    estimate: estimate * by,
    interval: interval && {...interval, low: interval.low * by, high: interval.high * by},
  });
  const term = (name: LoadTerm["name"]) => terms.find(one => one.name === name)!;
  const level = terms[0].interval?.level;
  return table({
    id: "road-load",
    caption:
      `What holds the car back on a level road in still air, mass ${mass.mass_kg.toFixed(0)} kg, air ${air.density_kg_m3.toFixed(3)} kg/m³. ` +
      (level === undefined
        ? `There is no interval: ${df} degrees of freedom are too few. `
        : `Intervals of ${100 * level} % from the spread of the runs (${df} degrees of freedom). `) +
      "Both forms say the same: CdA = 2 F2/ρ, Crr = F0/(m g).",
    columns: [{title: "term"}, {title: "value", align: "right"}, {title: "interval", align: "right"}],
    rows: [
      ...terms.map(one =>
        row(TERM_WORDS[one.name as keyof typeof TERM_WORDS], one, TERM_DIGITS[one.name], unitWords(one.unit)),
      ),
      row("CdA, drag area", scaled(term("F2"), 2 / air.density_kg_m3), 3, "m²"),
      row("Crr, rolling coefficient", scaled(term("F0"), 1 / (mass.mass_kg * STANDARD_GRAVITY_MPS2)), 5, ""),
      ...forces.map(force => row(`force at ${speedWords(force.speed_mps, result)}`, force, 1, "N")),
    ],
  });
}

/** How the terms hang together: near −1, one can be exchanged for the other without the runs noticing. */
export function termCorrelation({
  terms,
  correlation,
}: Pick<CoastdownDocument, "terms" | "correlation">): Table {
  const names = terms.map(({name}) => name);
  return table({
    id: "term-correlation",
    caption:
      "Correlation of the terms by the shape of the fit. Near −1, more of one and less of the other fit a run nearly as well, " +
      "so that noise and gusts move both at once.",
    columns: [{title: "term"}, ...names.map(title => ({title, align: "right" as const}))],
    rows: names.map((name, i) => [
      name,
      ...names.map((_, j) => minus(correlation[i * names.length + j].toFixed(2))),
    ]),
  });
}

/** The coastdowns one by one: what each gives by itself, and why one was not used or is in doubt. */
export function coastRunsTable({runs, terms}: Pick<CoastdownDocument, "runs" | "terms">): Table {
  const linear = terms.some(({name}) => name === "F1");
  const number = (value: number | null, digits: number) =>
    value === null ? null : minus(value.toFixed(digits));
  return table({
    id: "coast-runs",
    caption:
      "The runs in the order driven, each fitted by itself at the common wind and slope. “Left” is what single samples scatter about the fit.",
    columns: [
      {title: "run", align: "right"},
      {title: "log"},
      {title: "direction"},
      {title: "used"},
      {title: "F0", unit: "N", align: "right"},
      ...(linear ? [{title: "F1", unit: "N/(m/s)", align: "right" as const}] : []),
      {title: "F2", unit: "N/(m/s)²", align: "right"},
      {title: "left", unit: "m/s", align: "right"},
      ...(runs.some(({problem}) => problem !== null) ? [{title: "why not, or doubt"}] : []),
    ],
    rows: runs.map(run => [
      run.run,
      run.file,
      run.direction,
      run.used ? "yes" : "no",
      number(run.f0_n, 1),
      ...(linear ? [number(run.f1_n_per_mps, 2)] : []),
      number(run.f2_n_per_mps2, 4),
      number(run.residual_mps, 3),
      ...(runs.some(({problem}) => problem !== null) ? [run.problem] : []),
    ]),
  });
}

interface Shown {
  estimate: number;
  interval: IntervalRecord | null;
}

function unitWords(unit: string): string {
  return unit.replace("^2", "²");
}

function speedWords(speedMps: number, {band}: Pick<CoastdownDocument, "band">): string {
  return `${Number(fromSI(speedMps, band.unit).toFixed(1))} ${band.unit}`;
}
