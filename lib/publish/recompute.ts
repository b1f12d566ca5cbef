import {channelCurvesFigure} from "../figures/channel-curves.ts";
import {channelDifferenceFigure} from "../figures/channel-difference.ts";
import {channelSurveyFigure} from "../figures/channel-survey.ts";
import {correctionWaterfall} from "../figures/correction-waterfall.ts";
import {effectFigure} from "../figures/effect.ts";
import {powerFigure} from "../figures/power.ts";
import {roadFigure} from "../figures/road.ts";
import {runOrder} from "../figures/run-order.ts";
import {speedTraces} from "../figures/speed-traces.ts";
import {judgeChannels} from "../judge/channels.ts";
import {dayRoad} from "../judge/day-road.ts";
import {judge} from "../judge/judge.ts";
import {powerBudget} from "../judge/power-budget.ts";
import {powerCurves} from "../judge/power-curves.ts";
import type {Output} from "../notebook/notebook.ts";
import type {ChannelDocument} from "../result/channel-document.ts";
import type {ChannelSession} from "../result/channel-session.ts";
import type {JudgeDocument} from "../result/documents.ts";
import type {Session} from "../result/session.ts";
import type {VerifyDifference} from "../result/verify-document.ts";
import {loadDay, runTraces, type TestDay} from "../run/day.ts";
import {conditionsTable, pairingsTable, surveyTable} from "../tables/channel-tables.ts";
import {checksTable} from "../tables/checks-table.ts";
import {correctionBudgetTable} from "../tables/correction-budget-table.ts";
import {correctionTable} from "../tables/correction-table.ts";
import {planTable} from "../tables/plan-table.ts";
import {powerBudgetTable} from "../tables/power-budget-table.ts";
import {powerSensitivityTable, sensitivityTable} from "../tables/sensitivity-table.ts";
import {compareValues} from "./compare.ts";
import {PLOTLY_MIME, plotlyFigure} from "./figure.ts";
import {TABLE_MIME, tableSpec} from "./table.ts";

/** A session computed again. */
export type Recomputed = {result: JudgeDocument; day: TestDay} | {result: ChannelDocument; day: null};

/** Loads the logs of a session and judges it, as `fairpull judge` does. @throws {InputError} as `judge` */
export function recompute(session: Session): Recomputed {
  if (session.test === "channels") return {result: judgeChannels(session as ChannelSession), day: null};
  const day = loadDay(session);
  return {result: judge(session, day), day};
}

/** The figures and tables that the library makes of a result alone, by their id. A new one is a new line. */
const DISPLAYS: Record<string, (again: Extract<Recomputed, {day: TestDay}>) => object | null> = {
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

/** The same of an answer about channels. */
const CHANNEL_DISPLAYS: Record<string, (result: ChannelDocument) => object | null> = {
  "channel-curves": channelCurvesFigure,
  "channel-difference": channelDifferenceFigure,
  "channel-survey": channelSurveyFigure,
  checks: ({checks}) => checksTable({checks, unit: "s"}),
  conditions: conditionsTable,
  pairings: pairingsTable,
  survey: surveyTable,
};

/** Makes a display of this id again; undefined where the library makes none. */
function madeAgain(id: string, again: Recomputed): object | null | undefined {
  if (again.day === null)
    return Object.hasOwn(CHANNEL_DISPLAYS, id) ? CHANNEL_DISPLAYS[id]!(again.result) : undefined;
  return Object.hasOwn(DISPLAYS, id) ? DISPLAYS[id]!(again) : undefined;
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
