import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {channelCurvesFigure} from "../../lib/figures/channel-curves.ts";
import {channelDifferenceFigure} from "../../lib/figures/channel-difference.ts";
import {channelSurveyFigure} from "../../lib/figures/channel-survey.ts";
import {judgeChannels} from "../../lib/judge/channels.ts";
import type {ChannelDocument} from "../../lib/result/channel-document.ts";
import {readChannelSession} from "../../lib/run/channel-session.ts";
import {conditionsTable, pairingsTable, surveyTable} from "../../lib/tables/channel-tables.ts";
import {verdictCard} from "../../lib/tables/verdict-card.ts";
import {channelName, printDifference, printP, printSpan} from "../../lib/units/shown.ts";
import {DEMO_SESSION} from "../channels/made-session.ts";

const document = judgeChannels(readChannelSession(DEMO_SESSION));

describe("how channels are shown", () => {
  it("in the units that a reader of engine logs thinks in", () => {
    assert.equal(printDifference(1.234, "deg", "knock-correction"), "+1.23°");
    assert.equal(printDifference(-7.75, "K", "intake-temperature"), "−7.75 K"); // a difference has no zero to be off
    assert.equal(printDifference(-1500, "Pa", "manifold-pressure"), "−1.50 kPa");
    assert.equal(printDifference(0.012, "1", "throttle"), "+1.20 %");
    assert.equal(printDifference(0.012, "1", "lambda"), "+0.0120");
    assert.equal(printDifference(0, "Pa", "air-pressure"), "0 kPa");
    assert.equal(
      printSpan(0.4541, {low: 0.0853, high: 0.823}, {unit: "deg", name: "x"}),
      "+0.45° (+0.09° to +0.82°)",
    );
    assert.deepEqual([printP(0.00002), printP(0.0152)], ["below 0.001", "0.015"]);
    assert.deepEqual(
      [channelName("knock-correction"), channelName("Turbo-speed [krpm]")],
      ["knock correction", "Turbo-speed [krpm]"],
    );
  });
});

describe("the figures of an engine log", () => {
  it("draw a line a run and a thick one an arm, told apart without colour", () => {
    const figure = channelCurvesFigure(document)!;
    const thick = figure.data.filter(trace => (trace["line"] as {width: number}).width === 3);
    assert.deepEqual([figure.data.length, thick.length], [14, 2]);
    assert.notEqual((thick[0]["line"] as {dash: string}).dash, (thick[1]["line"] as {dash: string}).dash);
    assert.match(figure.alt, /bare pipe \(6 runs\) between −3\.\d+ and −1\.\d+ °; heat shield \(6 runs\)/);
  });

  it("draw two lines and say so where each arm has one run", () => {
    const [a] = document.curves!.runs.filter(({arm}) => arm === "baseline");
    const [b] = document.curves!.runs.filter(({arm}) => arm === "changed");
    const one: ChannelDocument = {
      ...document,
      curves: {...document.curves!, runs: [a, b], difference: null, ranges: []},
    };
    const figure = channelCurvesFigure(one)!;
    assert.equal(figure.data.length, 2);
    assert.match(figure.caption, /lines and nothing more/);
    assert.equal(channelDifferenceFigure(one), null);
    assert.equal(channelCurvesFigure({...one, curves: null}), null);
  });

  it("mark where the band is clear of zero, and how far the difference may reach", () => {
    const figure = channelDifferenceFigure(document)!;
    const [range] = document.curves!.ranges;
    const shapes = figure.layout["shapes"] as {type: string; x0: number; x1: number}[];
    assert.ok(shapes.some(({type, x0, x1}) => type === "rect" && x0 === range.from && x1 === range.to));
    assert.ok(
      shapes.some(({type, x0, x1}) => type === "line" && x0 === range.clear_from && x1 === range.clear_to),
    );
    assert.match(figure.alt, new RegExp(`clear of zero from ${range.clear_from} to ${range.clear_to}`));
    const none = channelDifferenceFigure({...document, curves: {...document.curves!, ranges: []}})!;
    assert.match(`${none.caption} ${none.alt}`, /Nowhere is the band clear of zero.*holds zero everywhere/);
  });

  it("name what differs in words, and tell how many channels were looked at", () => {
    const figure = channelSurveyFigure(document)!;
    const labels = (figure.layout["annotations"] as {text: string; y: string}[]).map(
      ({text, y}) => `${y}: ${text}`,
    );
    assert.match(labels[0], /^▶ intake temperature: differs, p 0\.00\d$/);
    assert.match(labels[labels.length - 1], /^[a-z ]+: p \d/);
    assert.match(figure.caption, new RegExp(`^${document.survey.looked} channels looked at`));
    assert.match(figure.alt, /after adjustment these differ: intake temperature −7\.7\d K/);
    const quiet = document.survey.channels.map(entry => ({...entry, differs: false}));
    assert.match(
      channelSurveyFigure({...document, survey: {...document.survey, channels: quiet}})!.alt,
      /none differs/,
    );
    assert.equal(channelSurveyFigure({...document, survey: {...document.survey, channels: []}}), null);
  });
});

describe("the tables of an engine log", () => {
  it("say what was not the same, and what that would explain", () => {
    const [row] = conditionsTable(document).rows;
    assert.match(
      row.join(" | "),
      /^intake temperature at band entry \| −7\.8 K \(.*\) \| \+\d\.\d+° \(.*\) \| not the same$/,
    );
  });
  it("list pairs with their uncertainty, and every channel", () => {
    assert.equal(pairingsTable(document)!.rows.length, 12);
    assert.match(String(pairingsTable(document)!.rows[0][2]), /^\d\.\d{3} ± 0\.\d{3}$/);
    assert.equal(pairingsTable({...document, pairings: []}), null);
    const {rows} = surveyTable(document);
    assert.equal(rows.length, document.survey.channels.length + document.survey.left_out.length);
    assert.match(String(rows[rows.length - 1][5]), /^left out: /);
  });
  it("end with what was shown and what was not", () => {
    const card = verdictCard(document);
    const bundle = card[Symbol.for("Jupyter.display") as never] as unknown as () => Record<string, unknown>;
    assert.equal(bundle()["application/vnd.fairpull.result+json"], document);
    assert.match(
      String(bundle()["text/plain"]),
      /^Question: .*\nAnswer: .*\nPower: .*cannot be told.*\nRuns: .*\nNot said: .*/,
    );
  });
});
