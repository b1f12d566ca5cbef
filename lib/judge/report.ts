import type {JudgeDocument} from "../result/documents.ts";
import type {ArmName, Session, SessionRun} from "../result/session.ts";
import type {ReportItem, ReportOutcome, TestReport} from "../result/test-report.ts";
import {airDensityIdealMix} from "../roadload/air-density.ts";
import {sessionDepartures} from "./checks/plan-kept.ts";
import {fitsCommitment} from "./seal.ts";

/** Limits of published procedures, quoted in the list; none of them decides a verdict. */
const LIMIT = {
  /** R83 and the German federal text of 70/220/EEC, 3.9.2.3 [m/s] */
  windMps: 3,
  /** SAE J1321 (2012): change of the mean wind between segments, 5 mph [m/s] */
  windChangeMps: 2.2,
  /** SAE J1263 [K] */
  airLowK: 278.15,
  airHighK: 308.15,
  /** the same German text: density within 7.5 % of 100 kPa and 293.2 K */
  densityShare: 0.075,
  referenceKgM3: 100_000 / (287.05 * 293.2),
  /** WLTP: precision of a mean */
  precision: 0.03,
  /** WLTP drafts: at most a third may be dropped */
  droppedShare: 1 / 3,
  /** 40 CFR 610.41, and the least with which an interval is given here */
  leastRuns: 2,
  leastForInterval: 3,
  /** repeatability limit, ISO 5725-2: 2.8 standard deviations */
  repeatability: 2.8,
} as const;

const FREEZING_K = 273.15;

const ARMS: readonly ArmName[] = ["baseline", "changed"];

/** One row of the list: what is asked for, who asks, and what this test tells. */
interface Item {
  id: string;
  item: string;
  source: string;
  tell(session: Session, result: JudgeDocument): [outcome: ReportOutcome, words: string];
}

const ITEMS: readonly Item[] = [
  {
    id: "question",
    item: "one question, with the smallest difference that matters, fixed before the runs",
    source: "CONSORT 2025, item 9; ICH E9 (margin)",
    tell: ({plan}, {worthwhile}) => [
      plan?.locked ? "met" : "not stated",
      `${worthwhile.value} ${worthwhile.unit}; ${plan?.locked ? "locked with the plan" : "nothing in the session proves that it stood before the runs"}`,
    ],
  },
  {
    id: "runs",
    item: "at least 2 runs a configuration for a statement, 3 for an interval",
    source: "40 CFR 610.41",
    tell(_session, {arms}) {
      const least = Math.min(arms.baseline.n, arms.changed.n);
      return [
        least >= LIMIT.leastForInterval ? "met" : "not met",
        `${arms.baseline.n} and ${arms.changed.n} runs`,
      ];
    },
  },
  {
    id: "order",
    item: "order of the periods and how it was drawn",
    source: "CENT 2015, item 8 (sequence)",
    tell: ({plan}) =>
      plan === null
        ? ["not stated", "the session holds no plan"]
        : [
            plan.seed === null ? "not stated" : "met",
            `${plan.order}${plan.seed === null ? ", no seed of a draw" : `, drawn with seed ${plan.seed}`}`,
          ],
  },
  {
    id: "departures",
    item: "departures from the plan",
    source: "SAE J1321 (2012); CONSORT 2025, item 10",
    tell(session, result) {
      const left = departures(session, result);
      if (session.plan === null) return ["not stated", "without a plan nothing can depart from it"];
      return left.length === 0 ? ["met", "none is known"] : ["not met", left.join("; ")];
    },
  },
  {
    id: "control",
    item: "a control: return to baseline, or an order that mixes the arms",
    source: "SAE J1321",
    tell({runs}) {
      const changes = runs.filter((run, i) => i > 0 && run.arm !== runs[i - 1]!.arm).length;
      return [
        changes >= 2 ? "met" : "not met",
        `the arm changed ${changes} ${changes === 1 ? "time" : "times"}`,
      ];
    },
  },
  {
    id: "directions",
    item: "equal numbers in each direction, or the direction in the model",
    source: "40 CFR 1066.310, 1037.305",
    tell({runs}, {effect}) {
      if (runs.some(run => run.direction === null)) return ["not stated", "not every run has its direction"];
      const count = (arm: ArmName, way: string) =>
        runs.filter(run => run.arm === arm && run.direction === way).length;
      const words = ARMS.map(arm => `${arm}: ${count(arm, "out")} out, ${count(arm, "back")} back`).join(
        "; ",
      );
      const isOneWay = ["out", "back"].some(way => ARMS.every(arm => count(arm, way) === 0));
      const isEqual = ARMS.every(arm => count(arm, "out") === count(arm, "back"));
      if (isEqual || /direction/.test(effect.model)) return ["met", words];
      return [
        "not met",
        isOneWay ? `${words}; one direction only, so wind and grade stay in every value` : words,
      ];
    },
  },
  {
    id: "wind",
    item: "mean wind at most 3 m/s, its change between the arms at most 2.2 m/s",
    source: "R83 text; SAE J1321 (2012)",
    tell(session, result) {
      const wind = byArm(session, result, run => run.conditions.windMps);
      if (!wind) return ["not stated", "no wind is noted for every run"];
      const mean = Math.max(...wind.all.map(Math.abs));
      const change = Math.abs(wind.changed - wind.baseline);
      return [
        mean <= LIMIT.windMps && change <= LIMIT.windChangeMps ? "met" : "not met",
        `strongest ${mean.toFixed(1)} m/s, ${change.toFixed(1)} m/s between the arms; gusts and cross wind are not noted`,
      ];
    },
  },
  {
    id: "temperature",
    item: "air between 5 and 35 °C, and its difference between the arms",
    source: "SAE J1263; 40 CFR 610.64",
    tell(session, result) {
      const air = byArm(session, result, run => run.conditions.airTemperatureK);
      const celsius = (kelvin: number) => (kelvin - FREEZING_K).toFixed(1);
      if (!air) {
        return session.air.temperatureK === null
          ? ["not stated", "no air temperature is noted"]
          : ["not stated", `${celsius(session.air.temperatureK)} °C for the day, not by run`];
      }
      const [low, high] = [Math.min(...air.all), Math.max(...air.all)];
      const isInside = low >= LIMIT.airLowK && high <= LIMIT.airHighK;
      return [
        isInside ? "met" : "not met",
        `${celsius(low)} to ${celsius(high)} °C, ${Math.abs(air.changed - air.baseline).toFixed(1)} K between the arms`,
      ];
    },
  },
  {
    id: "density",
    item: "air density within 7.5 % of 100 kPa and 20 °C, for corrected values",
    source: "R83 text, 3.9.2.3",
    tell({air}) {
      const {temperatureK, pressurePa, humidity} = air;
      if (temperatureK === null || pressurePa === null) {
        return ["not stated", "temperature or pressure of the air is not noted"];
      }
      if (temperatureK < FREEZING_K) return ["not stated", "air below freezing is outside the formula used"];
      const density = airDensityIdealMix({temperatureK, pressurePa, humidity: humidity ?? 0});
      const share = density / LIMIT.referenceKgM3 - 1;
      const percent = `${share < 0 ? "−" : "+"}${Math.abs(100 * share).toFixed(1)} %`;
      return [
        Math.abs(share) <= LIMIT.densityShare ? "met" : "not met",
        `${density.toFixed(3)} kg/m³, ${percent}${humidity === null ? ", taken as dry" : ""}`,
      ];
    },
  },
  {
    id: "grade",
    item: "grade of the road, which enters the analysis above 0.02 %",
    source: "40 CFR 1066.310; SAE J1263",
    tell(_session, {checks, primary}) {
      const check = checks.find(({name}) => /grade|profile/.test(name));
      if (check && check.outcome !== "not-checkable") {
        return [check.outcome === "held" ? "met" : "not met", check.words];
      }
      const words = primary.startsWith("corrected") ? "see the terms of the correction" : "not in the result";
      return ["not stated", check?.words ?? words];
    },
  },
  {
    id: "precision",
    item: "precision of each arm's mean, t·s/(√n·mean), beside the interval of the difference",
    source: "WLTP (3 %), 70/220/EEC (2 %)",
    tell(_session, {arms}) {
      if (ARMS.some(arm => arms[arm].precision === null)) return ["not stated", "too few runs to tell"];
      const worst = Math.max(...ARMS.map(arm => arms[arm].precision!));
      const words = ARMS.map(arm => `${arm} ${(100 * arms[arm].precision!).toFixed(2)} %`).join(", ");
      return [worst <= LIMIT.precision ? "met" : "not met", words];
    },
  },
  {
    id: "repeatability",
    item: "the effect beside the method's own scatter, r = 2.8 s",
    source: "ISO 5725-2; SAE J1321 (1986)",
    tell(_session, {arms, effect, unit}) {
      const spreads = ARMS.map(arm => arms[arm].sd);
      if (effect.estimate === null || spreads.some(sd => sd === null)) {
        return ["not stated", "too few runs to tell"];
      }
      const [a, b] = ARMS.map(arm => arms[arm]);
      const pooled = Math.sqrt(((a!.n - 1) * a!.sd! ** 2 + (b!.n - 1) * b!.sd! ** 2) / (a!.n + b!.n - 2));
      const limit = LIMIT.repeatability * pooled;
      const size = Math.abs(effect.estimate);
      return [
        "met",
        `two equal runs differ by more than ${limit.toPrecision(3)} ${unit} once in twenty; the effect is ${size >= limit ? "larger" : "smaller"}, so a single pair of runs ${size >= limit ? "would mostly" : "could not"} show it`,
      ];
    },
  },
  {
    id: "dropped",
    item: "every dropped run listed with its reason; at most a third dropped",
    source: "WLTP drafts (R154); CENT 2015",
    tell({runs}, {excluded}) {
      const share = excluded.length / runs.length;
      const late = excluded.filter(run => run.excluded_before === "not known").length;
      const unknown = excluded.filter(run => run.excluded_before === null).length;
      const words =
        excluded.length === 0
          ? "no run was dropped"
          : `${excluded.length} of ${runs.length}${late ? `, ${late} before the result was known` : ""}${unknown ? `; for ${unknown} it is not stated whether the result was known` : ""}`;
      return [share <= LIMIT.droppedShare ? "met" : "not met", words];
    },
  },
  {
    id: "adjustment",
    item: "the adjustment alone as an arm, where fitting the part changed a setting",
    source: "40 CFR 610.41 (c)",
    tell: () => [
      "not stated",
      "the session has two arms; it does not say whether a setting changed with the part",
    ],
  },
  {
    id: "blinding",
    item: "who knew which arm was driven",
    source: "CONSORT 2025; CENT 2015",
    tell: session => [
      session.seal === null ? "not stated" : blindWords(session).startsWith("blind") ? "met" : "not met",
      blindWords(session),
    ],
  },
  {
    id: "looks",
    item: "looks at the result while runs were still to come",
    source: "CONSORT 2025 (interim analyses)",
    tell: ({plan}) =>
      plan === null
        ? ["not stated", "the session holds no plan"]
        : ["met", plan.looks === 1 ? "one look, at the end" : `${plan.looks} looks were planned`],
  },
  {
    id: "fittings",
    item: "how often the part was fitted anew, beside the number of runs",
    source: "CENT 2015 (periods)",
    tell: (_session, {fittings}) => ["met", fittings.words],
  },
  {
    id: "loggers",
    item: "resolution of the loggers: speed within 0.2 to 0.4 km/h, time within 0.1 %",
    source: "SAE J1263, J2263",
    tell(_session, {runs}) {
      const coarse = runs.filter(run => run.flags.some(flag => /^coarse-|held-samples/.test(flag)));
      const worst = Math.max(
        ...runs.map(run => (run.value && run.value_u ? Math.abs(run.value_u / run.value) : 0)),
      );
      const words = `the log alone leaves a value uncertain by up to ${(100 * worst).toFixed(2)} %`;
      return coarse.length
        ? ["not met", `run ${coarse.map(({run}) => run).join(", ")} is written too coarsely; ${words}`]
        : ["met", words];
    },
  },
  {
    id: "access",
    item: "data and analysis open to the reader",
    source: "CONSORT 2025, item 4",
    tell: (_session, {inputs, seed}) => [
      "met",
      `${inputs.length} files with their SHA-256, seed ${seed}; notebook and session are in the page`,
    ],
  },
];

/**
 * The reporting checklist of a comparison: what published procedures for vehicle tests and for trials of one subject
 * ask a report to tell, and what this one tells. It judges how the test is reported, not the part; no item enters the verdict.
 *
 * @param session as read by `readSession`
 * @param result  as given by `judge` for this session
 */
export function testReport(session: Session, result: JudgeDocument): TestReport {
  const left = departures(session, result);
  const {plan} = session;
  const isPlanned = plan !== null && plan.seed !== null && left.length === 0;
  return {
    planned: {
      isPlanned,
      words: isPlanned
        ? `planned: ${plan.order}, drawn with seed ${plan.seed}${plan.locked ? ", locked before the runs" : ", not locked"}`
        : plan === null
          ? "not planned, as far as the session tells"
          : left.length
            ? `not as planned: ${left.join("; ")}`
            : "an order is named, but not that it was drawn by lot",
    },
    blind: blindWords(session),
    items: ITEMS.map(({id, item, source, tell}): ReportItem => {
      const [outcome, words] = tell(session, result);
      return {id, item, outcome, words, source};
    }),
  };
}

/** What makes the runs others than those that were planned, in words. */
function departures(session: Session, {checks, excluded}: JudgeDocument): string[] {
  const {plan, runs} = session;
  if (plan === null) return [];
  const locked = sessionDepartures(session);
  if (locked !== null) return locked;
  const left: string[] = [];
  if (plan.runs !== null && plan.runs !== runs.length) {
    left.push(`${plan.runs} runs were planned, ${runs.length} were driven`);
  }
  const order = checks.find(({name}) => name === "order by lot");
  if (left.length === 0 && (order?.outcome === "doubtful" || order?.outcome === "failed"))
    left.push(order.words);
  const known = excluded.filter(run => run.excluded_before === "result known");
  if (known.length) {
    left.push(`run ${known.map(({run}) => run).join(", ")} was dropped when the result was known`);
  }
  return left;
}

function blindWords({seal, plan}: Session): string {
  if (seal === null) return "not blind, as far as the session tells: the driver knew the part";
  if (seal.letters === null) return "blind: the labels are sealed, and the result is that of two letters";
  return fitsCommitment(seal, plan?.locked ?? null)
    ? "blind: the labels were sealed while the runs were driven, and the opened letters fit the commitment of before"
    : "not blind: the letters do not fit the commitment of before the runs";
}

/** A condition of the runs used: its mean in each arm and every value, or null unless each of them has it. */
function byArm(
  {runs}: Session,
  result: JudgeDocument,
  read: (run: SessionRun) => number | null,
): ({all: number[]} & Record<ArmName, number>) | null {
  const used = runs.filter(run => result.runs.find(record => record.run === run.run)?.used);
  const values = used.map(read);
  if (used.length === 0 || values.some(value => value === null)) return null;
  const mean = (arm: ArmName) => {
    const own = used.filter(run => run.arm === arm).map(run => read(run)!);
    return own.reduce((sum, value) => sum + value, 0) / own.length;
  };
  return {all: values as number[], baseline: mean("baseline"), changed: mean("changed")};
}
