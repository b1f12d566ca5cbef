import {channelCurvesFigure} from "../figures/channel-curves.ts";
import {channelDifferenceFigure} from "../figures/channel-difference.ts";
import {channelSurveyFigure} from "../figures/channel-survey.ts";
import {coastdownResiduals} from "../figures/coastdown-residuals.ts";
import {correctionWaterfall} from "../figures/correction-waterfall.ts";
import {effectFigure} from "../figures/effect.ts";
import {forceBudget} from "../figures/force-budget.ts";
import {powerFigure} from "../figures/power.ts";
import {roadFigure} from "../figures/road.ts";
import {runOrder} from "../figures/run-order.ts";
import {speedTraces} from "../figures/speed-traces.ts";
import {judgeChannels} from "../judge/channels.ts";
import {judgeCoastdown} from "../judge/coastdown.ts";
import {dayRoad} from "../judge/day-road.ts";
import {judge} from "../judge/judge.ts";
import {powerBudget} from "../judge/power-budget.ts";
import {powerCurves} from "../judge/power-curves.ts";
import {judgeRepeatability} from "../judge/repeatability.ts";
import type {Output} from "../notebook/notebook.ts";
import type {ChannelDocument} from "../result/channel-document.ts";
import type {ChannelSession} from "../result/channel-session.ts";
import type {CoastdownDocument} from "../result/coastdown-document.ts";
import type {JudgeDocument} from "../result/documents.ts";
import type {RepeatabilityDocument} from "../result/repeatability-document.ts";
import type {Session} from "../result/session.ts";
import type {VerifyDifference} from "../result/verify-document.ts";
import type {CoastdownSession} from "../run/coastdown-session.ts";
import {loadDay, runTraces, type TestDay} from "../run/day.ts";
import {conditionsTable, pairingsTable, surveyTable} from "../tables/channel-tables.ts";
import {checksTable} from "../tables/checks-table.ts";
import {coastRunsTable, roadLoadTable, termCorrelation} from "../tables/coastdown-tables.ts";
import {correctionBudgetTable} from "../tables/correction-budget-table.ts";
import {correctionTable} from "../tables/correction-table.ts";
import {planTable} from "../tables/plan-table.ts";
import {powerBudgetTable} from "../tables/power-budget-table.ts";
import {powerSensitivityTable, sensitivityTable} from "../tables/sensitivity-table.ts";
import {compareValues} from "./compare.ts";
import {PLOTLY_MIME, plotlyFigure} from "./figure.ts";
import type {PageSession} from "./report-of.ts";
import {TABLE_MIME, tableSpec} from "./table.ts";

/** A session computed again; coastdowns and channels have no day of pulls. */
export type Recomputed = Compared | Repeated | {result: ChannelDocument | CoastdownDocument; day: null};
interface Compared {
  result: JudgeDocument;
  day: TestDay;
}
interface Repeated {
  result: RepeatabilityDocument;
  day: TestDay;
}

/** Loads the logs of a session and judges it, as `fairpull judge` does. @throws {InputError} as `judge` */
export function recompute(session: PageSession): Recomputed {
  if (session.test === "coastdown") return {result: judgeCoastdown(session as CoastdownSession), day: null};
  if (session.test === "channels") return {result: judgeChannels(session as ChannelSession), day: null};
  const day = loadDay(session as Session);
  return session.test === "repeatability"
    ? {result: judgeRepeatability(session as Session, day), day}
    : {result: judge(session as Session, day), day};
}

/** The figures and tables that the library makes of a result alone, by their id. A new one is a new line. */
const DISPLAYS: Record<string, (again: Compared) => object | null> = {
  "speed-traces": ({day}) => speedTraces(runTraces(day), day.session.band),
  plan: ({day}) => planTable(day.session),
  checks: ({result}) => checksTable(result),
  "run-order": ({result}) => runOrder(result),
  effect: ({result}) => effectFigure(result),
  correction: ({result}) => correctionTable(result),
  "correction-budget": ({result}) => correctionBudgetTable(result),
  sensitivity: ({result}) => sensitivityTable(result),
  "correction-waterfall": ({result}) => correctionWaterfall(result),
  "road-profile": ({day}) => roadFigure(dayRoad(day)),
  "power-by-speed": ({day}) => powerFigure(powerCurves(day), day.session.band),
  "power-by-engine-speed": ({day}) => powerFigure(powerCurves(day, {axis: "engine-speed"}), day.session.band),
  "power-sensitivity": ({day}) => powerSensitivityTable(powerBudget(day)),
  "power-budget": ({day}) => powerBudgetTable(powerBudget(day)),
};

/** The same of an answer about channels, of identical runs and of coastdowns. */
const CHANNEL_DISPLAYS: Record<string, (result: ChannelDocument) => object | null> = {
  "channel-curves": channelCurvesFigure,
  "channel-difference": channelDifferenceFigure,
  "channel-survey": channelSurveyFigure,
  checks: ({checks}) => checksTable({checks, unit: "s"}),
  conditions: conditionsTable,
  pairings: pairingsTable,
  survey: surveyTable,
};
const REPEATABILITY_DISPLAYS: Record<string, (again: Repeated) => object | null> = {
  "speed-traces": ({day}) => speedTraces(runTraces(day), day.session.band),
  checks: ({result}) => checksTable(result),
};
const COASTDOWN_DISPLAYS: Record<string, (result: CoastdownDocument) => object | null> = {
  "coastdown-residuals": coastdownResiduals,
  "force-budget": forceBudget,
  "road-load": roadLoadTable,
  "term-correlation": termCorrelation,
  "coast-runs": coastRunsTable,
  checks: checksTable,
};

/** Makes a display of this id again; undefined where the library makes none for this kind of test. */
function madeAgain(id: string, again: Recomputed): object | null | undefined {
  const own = <Given>(table: Record<string, (given: Given) => object | null>, given: Given) =>
    Object.hasOwn(table, id) ? table[id]!(given) : undefined;
  const {result} = again;
  if (result.test === "channels") return own(CHANNEL_DISPLAYS, result);
  if (result.test === "coastdown") return own(COASTDOWN_DISPLAYS, result);
  return result.test === "repeatability"
    ? own(REPEATABILITY_DISPLAYS, again as Repeated)
    : own(DISPLAYS, again as Compared);
}

/** How a figure or table shows itself in a notebook. */
const DISPLAY = Symbol.for("Jupyter.display");
type Shown = Record<symbol, () => Record<string, unknown>>;

/** How the figures and tables of a page stand against those made again from the data. */
export interface ComparedDisplays {
  differences: VerifyDifference[];
  recomputed: string[];
  /** made by the notebook's own cells: only running them makes them again */
  notRecomputed: string[];
}

/** Makes the library's figures and tables again and compares every number and word in them. */
export function compareDisplays(outputs: readonly Output[][], again: Recomputed): ComparedDisplays {
  const compared: ComparedDisplays = {differences: [], recomputed: [], notRecomputed: []};
  for (const output of outputs.flat()) {
    if (!("data" in output)) continue;
    const figure = plotlyFigure(output.data);
    const id = figure ? figure.id : tableSpec(output.data)?.id;
    if (id === undefined) continue;
    const made = id === null ? undefined : madeAgain(id, again);
    if (made === undefined) {
      compared.notRecomputed.push(id ?? "a figure without id");
      continue;
    }
    const type = figure ? PLOTLY_MIME : TABLE_MIME;
    const show = made as Shown | null;
    const now = show === null ? null : JSON.parse(JSON.stringify(show[DISPLAY]!()[type] ?? null));
    compared.recomputed.push(id!);
    compared.differences.push(
      ...compareValues(`${figure ? "figure" : "table"} ${id}: `, output.data[type], now),
    );
  }
  return compared;
}
