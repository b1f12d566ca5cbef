import assert from "node:assert/strict";
import {readFileSync} from "node:fs";
import {join} from "node:path";
import {Ajv2020} from "ajv/dist/2020.js";
import {describe, it} from "vitest";
import {loadChannelDay} from "../../lib/channels/channel-day.ts";
import {judgeChannelSession} from "../../lib/cli/judge-channels.ts";
import {judgeChannels} from "../../lib/judge/channels.ts";
import {InputError} from "../../lib/result/error.ts";
import {jsonSchemas} from "../../lib/result/schemas/documents.ts";
import {readChannelSession} from "../../lib/run/channel-session.ts";
import {simulateDay} from "../../lib/simulate/day.ts";
import {dayFiles} from "../../lib/simulate/files.ts";
import {scenarioNamed} from "../../lib/simulate/scenarios.ts";
import {assertClose} from "../assert-close.ts";
import {DEMO_FOLDER, DEMO_SESSION, engineFile, MadeDay, without} from "./made-session.ts";

const truth = JSON.parse(readFileSync(join(DEMO_FOLDER, "truth.json"), "utf8"));

function refuses(made: MadeDay, code: string, words: RegExp): void {
  assert.throws(
    () => judgeChannels(made.session()),
    (error: unknown) => {
      assert.ok(error instanceof InputError, String(error));
      assert.equal(error.details.code, code, error.message);
      assert.match(error.message, words);
      return true;
    },
  );
}

describe("the demo day of channels", () => {
  it("comes from its committed seed, byte for byte", () => {
    const scenario = scenarioNamed("heat-shield")!;
    const files = dayFiles(simulateDay(scenario, scenario.seed));
    for (const [name, text] of files) assert.equal(readFileSync(join(DEMO_FOLDER, name), "utf8"), text, name);
    assert.ok([...files.values()].reduce((sum, text) => sum + text.length, 0) < 400_000);
  });

  const session = readChannelSession(DEMO_SESSION);
  const loaded = loadChannelDay(session);
  const document = judgeChannels(session, loaded);

  it("pairs every engine log to its speed log", () => {
    assert.equal(loaded.pairings.length, 12);
    for (const {runs, lagS, scale} of loaded.pairings) {
      const [run] = runs;
      // asked for: 0.02 s and 0.2 %; the receiver smooths its speed by 0.12 s, which no log can tell from lag
      assertClose(lagS, truth.runs[run - 1].engine_log_lag_s - 0.12, 0.02, `run ${run}`);
      assertClose(scale, 1 / 1.015, 0.002, `run ${run}`);
    }
  });

  it("finds the planted difference where it is, and the intake air that makes it", () => {
    const {curves, conditions, survey} = document;
    const [range] = curves!.ranges;
    assert.ok(range.from < 3000 && range.to > 3500 && range.mean > 0, JSON.stringify(curves!.ranges));
    const intake = conditions.find(({name}) => name.startsWith("intake-temperature"))!;
    assert.equal(intake.matched, false);
    assertClose(intake.difference!, truth.intake_temperature_difference_k, 3); // standard error 1 K
    assert.equal(survey.channels[0].channel, "intake-temperature");
    assert.match(document.silent, /not shown to be moved by it.*not under the same conditions/);
    assert.equal(document.power!.estimate, null);
    assert.match(document.power!.words, /cannot be told/);
  });

  it("keeps every cylinder, and offers mean and worst with pulled spark negative", () => {
    const names = document.survey.channels.map(({channel}) => channel);
    for (const name of ["-cylinder-1", "-cylinder-4", "-worst", ""])
      assert.ok(names.includes(`knock-correction${name}`), name);
    const worst = document.survey.channels.find(({channel}) => channel === "knock-correction-worst")!;
    const mean = document.survey.channels.find(({channel}) => channel === "knock-correction")!;
    for (const [i, {value}] of worst.values.entries())
      assert.ok(value < mean.values[i].value && mean.values[i].value < 0);
  });

  it("checks the runs by the channels of both logs", () => {
    const outcome = new Map(document.checks.map(check => [check.name, check.outcome]));
    for (const name of ["same gear", "engine speed over road speed", "coolant temperature"])
      assert.equal(outcome.get(name), "held", name);
  });

  it("gives one document, the same every time, as its schema says", () => {
    const once = judgeChannelSession(DEMO_SESSION, {}, "/").document;
    const again = judgeChannelSession(DEMO_SESSION, {}, "/").document;
    assert.equal(JSON.stringify(once), JSON.stringify(again));
    const validate = new Ajv2020({strict: false}).compile(jsonSchemas()["judge.json"]);
    assert.ok(validate(once), JSON.stringify(validate.errors));
    const failed = judgeChannelSession("none.yaml", {}, "/");
    assert.deepEqual([failed.exitCode, "error" in failed.document], [2, true]);
  });

  it("keeps nothing of the logs outside the runs", () => {
    for (const {log, pass} of loaded.runs) {
      const span = log.timeS[log.timeS.length - 1] - log.timeS[0];
      assert.ok(span <= pass!.elapsedS + 5.01, String(span)); // 2.5 s on both sides
      for (const {values} of log.channels) assert.equal(values.buffer.byteLength, 8 * log.timeS.length);
    }
  });
});

describe("a slope of power over spark", () => {
  it("is carried over with its uncertainty", () => {
    const made = new MadeDay().edit("session.yaml", text =>
      text.replace(
        "knockSign: pulled positive",
        "knockSign: pulled positive, slope: 0.6 %, slopeUncertainty: 0.3 %",
      ),
    );
    const {effect, power} = judgeChannels(made.session());
    assertClose(power!.estimate!, 0.006 * effect.estimate!, 1e-12);
    // By hand: half width of the product at least that of the difference alone times the slope
    assert.ok(
      power!.interval!.high - power!.interval!.low > 0.006 * (effect.interval!.high - effect.interval!.low),
    );
    assert.match(power!.words, /these logs cannot tell/);
  });
});

describe("a session with one run an arm", () => {
  it("says that nothing can be said, and still has two lines", () => {
    const made = new MadeDay().edit("session.yaml", text =>
      text
        .split("\n")
        .filter(line => !/run-(0[3-9]|1\d)\.csv/.test(line))
        .join("\n"),
    );
    const {curves, effect, words} = judgeChannels(made.session());
    assert.equal(effect.interval, null);
    assert.deepEqual([curves!.runs.length, curves!.difference], [2, null]);
    assert.match(
      words,
      /Nothing can be said of knock correction .*1 runs with .*with one run of an arm nothing can be said/,
    );
  });
});

describe("bad input of a session of channels", () => {
  it("an engine log without speed", () => {
    refuses(
      new MadeDay().edit(engineFile(3), text => without(text, "Vehicle speed (km/h)")),
      "no-channel",
      /no speed is found in run-03-engine\.csv.*cannot be laid over/,
    );
  });

  it("engine logs without engine speed, and what helps", () => {
    const made = new MadeDay().each(text => without(text, "Engine speed (r/min)"));
    refuses(made, "no-channel", /no run has an engine speed to lay knock-correction over.*axis: speed/s);
    made.edit("session.yaml", text => text.replace("axis: engine-speed", "axis: speed"));
    assert.equal(judgeChannels(made.session()).curves!.axis_unit, "m/s");
  });

  it("another gear in one run, and one that changes it", () => {
    const made = new MadeDay()
      .each((text, run) => (run > 2 ? without(text, "Gear") : `${text.replace(",Gear\n", ",Shift box\n")}`))
      .rows(1, cells => {
        cells["Engine speed (r/min)"] = String(Math.round(Number(cells["Engine speed (r/min)"]) * 0.75));
      })
      .rows(2, (cells, row) => {
        const gear = row < 70 ? 1 : 0.6;
        cells["Engine speed (r/min)"] = String(Math.round(Number(cells["Engine speed (r/min)"]) * gear));
      });
    const {excluded, runs} = judgeChannels(made.session());
    assert.deepEqual(
      runs.filter(({used}) => !used).map(({run}) => run),
      [1, 2],
    );
    assert.match(excluded[0].reason, /another gear: \d+\.\d r\/min for 1 m\/s, the other runs/);
    assert.match(excluded[1].reason, /not steady within the band: a change of gear/);
    const logged = new MadeDay().rows(1, cells => {
      cells["Gear"] = "4";
    });
    assert.match(judgeChannels(logged.session()).excluded[0].reason, /gear 4, and the band is one of gear 3/);
  });

  it("channels in one arm only, constant ones, units that differ, all named", () => {
    const armOf = new Map(readChannelSession(DEMO_SESSION).runs.map(({run, arm}) => [run, arm]));
    const made = new MadeDay().each((text, run) => {
      const [head, ...lines] = text.split("\n");
      const kpa = run % 2 === 0;
      const oneArm = armOf.get(run) === "changed" ? ",Shield probe (degC)" : "";
      return [
        `${head},Box pressure (${kpa ? "kPa" : "quux"}),Fan${oneArm}`,
        ...lines.map(line => (line === "" ? line : `${line},101,1${oneArm === "" ? "" : ",40"}`)),
      ].join("\n");
    });
    const left = new Map(
      judgeChannels(made.session()).survey.left_out.map(({name, reason}) => [name, reason]),
    );
    assert.match(left.get("Shield probe (degC)")!, /logged in the changed runs only/);
    assert.match(left.get("Fan")!, /do not differ|agree/);
    assert.match(
      left.get("Box pressure (kPa)") ?? left.get("Box pressure")!,
      /unit differs|not logged in run/,
    );
  });

  it("an engine log of another drive", () => {
    const made = new MadeDay().rows(5, (cells, row) => {
      cells["Vehicle speed (km/h)"] = (60 + 20 * Math.sin(row / 9)).toFixed(1);
    });
    refuses(
      made,
      "drives-differ",
      /run-05-engine\.csv is not of the drive of run-05\.csv: their speeds correlate by 0\.\d+ at best/,
    );
  });

  it("a knock correction whose sign nobody stated", () => {
    const made = new MadeDay().edit("session.yaml", text => text.replace(/^engine: .*$/m, ""));
    refuses(made, "channel-sign", /does not say whether pulled spark is logged as negative or positive/);
    made.edit("session.yaml", text => text.replace("channel: knock-correction", "channel: spark-advance"));
    const {survey} = judgeChannels(made.session());
    assert.ok(survey.left_out.some(({name}) => name === "knock-correction"));
    assert.ok(!survey.channels.some(({channel}) => channel.startsWith("knock")));
  });

  it("a channel that is not there", () => {
    refuses(
      new MadeDay().edit("session.yaml", text =>
        text.replace("channel: knock-correction", "channel: turbo speed"),
      ),
      "no-channel",
      /no run has the channel turbo speed.*the logs have .*engine-speed/s,
    );
  });

  it("keys that make no sense, with their line", () => {
    const wrong = (from: string | RegExp, to: string, words: RegExp) =>
      assert.throws(
        () => new MadeDay().edit("session.yaml", text => text.replace(from, to)).session(),
        (error: unknown) => error instanceof InputError && error.exitCode === 2 && words.test(error.message),
        to,
      );
    wrong("knockSign: pulled positive", "knockSign: up", /session\.yaml, line 7.*engine\.knockSign/);
    wrong(
      "knockSign: pulled positive",
      "knockSign: pulled positive, slope: 0.6 %",
      /slope and slopeUncertainty belong together/,
    );
    wrong("knockSign: pulled positive", "sign: 1", /line 7.*engine.*known: file, knockSign/);
    wrong("primary: {channel: knock-correction}", "primary: band-time", /line 5.*primary/);
    wrong("axis: engine-speed", "axis: time", /line 6.*axis/);
    wrong("axis: engine-speed", "worthwhile: 1 %", /line 6.*gives no verdict/);
    wrong(/arm: changed/g, "arm: baseline", /no run has arm: changed/);
  });
});
