import assert from "node:assert/strict";
import {readFileSync} from "node:fs";
import {fileURLToPath} from "node:url";
import {gpx as otherGpx} from "@tmcw/togeojson";
import fc from "fast-check";
import {JSDOM} from "jsdom";
import {describe, it} from "vitest";
import {geodesic} from "../../lib/log/geodesic.ts";
import {gpx} from "../../lib/log/gpx.ts";
import {readLog, readLogBytes} from "../../lib/log/read.ts";
import type {RawTable} from "../../lib/log/reader.ts";
import {memorySource} from "../../lib/log/source.ts";
import {InputError} from "../../lib/result/error.ts";
import {passesOfLog} from "../../lib/run/passes.ts";
import {assertClose} from "../assert-close.ts";
import {cpuClock} from "../cpu-clock.ts";

// Row C2-gpx: GPX 1.1 schema (topografix.com/GPX/1/1), invented content, validated with xmllint.
const {rows, datasets} = JSON.parse(readFileSync(new URL("../reference/gpx.json", import.meta.url), "utf8"));
const {expected, tolerance} = rows.find((row: {id: string}) => row.id === "C2-gpx");

const fixture = (name: string) => fileURLToPath(new URL(`../fixtures/odd/gpx/${name}`, import.meta.url));
const readBytes = (bytes: Uint8Array) => gpx.read(memorySource("log.gpx", bytes), {});
const readText = (text: string) => readBytes(new TextEncoder().encode(text));
const readFixture = (name: string) => readBytes(readFileSync(fixture(name)));
const cells = (table: RawTable, name: string) => [
  ...(table.columns.find(c => c.header === name)?.values ?? []),
];
const reasons = (unread: RawTable["unread"]) =>
  Object.fromEntries(unread.rows.map(({reason, count, first_line}) => [reason, [count, first_line]]));
const epochs = ({columns: [time]}: RawTable) => [...time.values].map(value => time.zero + value);
const track = (points: string) =>
  `<gpx version="1.1" creator="test"><trk><trkseg>${points}</trkseg></trk></gpx>`;
const NAN = Number.NaN;
/** What this test reads of the other library's features; their own type needs a package of declarations. */
interface Line {
  geometry: {type: string; coordinates: number[][] | number[][][]} | null;
  properties: {_gpxType?: string; coordinateProperties: {times: string[] | string[][]}};
}

describe("gpx", () => {
  it("reads positions, heights, times with zones and segments", () => {
    const table = readText(datasets["gpx.sample"].text);
    assert.equal(gpx.probe(new TextEncoder().encode(datasets["gpx.sample"].text), "x"), 1);
    assert.deepEqual(cells(table, "latitude"), expected.lat);
    assert.deepEqual(cells(table, "longitude"), expected.lon);
    assert.deepEqual(
      cells(table, "ele"),
      expected.ele.map((value: number | null) => value ?? NAN),
    );
    assert.deepEqual(
      epochs(table).map(seconds => seconds * 1000),
      expected.epoch_ms,
    );
    const segments = cells(table, "segment");
    assert.deepEqual(
      [1, 2].map(k => segments.filter(value => value === k).length),
      expected.points,
    );
    const {distanceM} = geodesic(expected.lat[0], expected.lon[0], expected.lat[1], expected.lon[1])!;
    assertClose(distanceM, expected.distance_first_segment_wgs84_m, tolerance);
    assertClose(
      distanceM / (table.columns[0].values[1] - table.columns[0].values[0]),
      expected.mean_speed_first_segment_ms,
      tolerance,
    );
  });
  it("reads what another library reads", () => {
    // @tmcw/togeojson 7.1.3 of the npm registry, over the DOM of jsdom
    for (const name of ["gpx10-speed.gpx", "gpx11-no-speed.gpx", "one-segment-three-weeks.gpx"]) {
      const table = readFixture(name);
      const {window} = new JSDOM(readFileSync(fixture(name), "utf8"), {contentType: "text/xml"});
      const lines: Line[] = otherGpx(window.document).features;
      const tracks = lines.filter(({properties}) => properties._gpxType === "trk");
      const points = tracks.flatMap(({geometry}) =>
        geometry!.type === "LineString"
          ? (geometry!.coordinates as number[][])
          : geometry!.coordinates.flat(),
      ) as number[][];
      const times = tracks.flatMap(({properties}) => properties.coordinateProperties.times.flat());
      // the other library leaves out segments of a single point
      const n = points.length;
      assert.ok(n >= table.rows - 1 && n > 10, name);
      assert.deepEqual(
        points,
        cells(table, "longitude")
          .slice(0, n)
          .map((lon, k) => [lon, cells(table, "latitude")[k], cells(table, "ele")[k]]),
      );
      assert.deepEqual(
        times.map(time => Date.parse(time)),
        epochs(table)
          .slice(0, n)
          .map(seconds => Math.round(seconds * 1000)),
      );
    }
  });
  it("counts segments over tracks and names the points that are part of none", () => {
    const table = readFixture("gpx11-no-speed.gpx");
    assert.equal(table.rows, 25);
    assert.deepEqual([...new Set(cells(table, "segment"))], [1, 2, 3]);
    assert.deepEqual(reasons(table.unread), {
      "waypoint (wpt), not part of a track": [1, 4],
      "route point (rtept), not part of a track": [1, 5],
    });
    assert.equal(table.lineOf(0), 8);
  });
  it("finds numbers in extensions of any name space, and the unit of their speed by the positions", () => {
    const table = readFixture("extension-speed-kmh.gpx");
    assert.deepEqual(
      table.columns.map(({header, unit}) => [header, unit]),
      [
        ["time", null],
        ["latitude", "deg"],
        ["longitude", "deg"],
        ["ele", "m"],
        ["speed", "km/h"],
        ["course", "deg"],
        ["hdop", null],
        ["segment", null],
      ],
    );
    assert.deepEqual(table.unread.columns, [{name: "mode", reason: "text in the track points, not numbers"}]);
    assert.match(table.guesses[0].chosen, /^km\/h: it is 3\.\d+ times the speed from positions/);
  });
  it("takes GPX's own speed before that of an extension, which keeps its prefix", () => {
    const point =
      '<trkpt lat="1" lon="2"><speed>3</speed><fix>dgps</fix><extensions><in:speed>4</in:speed></extensions></trkpt>';
    const table = readText(track(point));
    assert.deepEqual([cells(table, "speed"), cells(table, "in:speed"), cells(table, "fix")], [[3], [4], [4]]);
  });
  it("takes m/s with a word where the positions tell nothing", () => {
    const table = readText(track('<trkpt lat="1" lon="2"><extensions><speed>4</speed></extensions></trkpt>'));
    assert.deepEqual(table.guesses, [
      {what: 'unit of "speed"', chosen: "m/s, which the positions do not confirm", confidence: "weak"},
    ]);
  });
  it("counts odd cells and keeps their points", () => {
    const table = readFixture("odd-points.gpx");
    assert.deepEqual(cells(table, "latitude"), [47.2, NAN, NAN, 47.2003]);
    assert.deepEqual(cells(table, "ele"), [120, NAN, NAN, 121]);
    const start = Date.UTC(2025, 5, 14, 10, 15) / 1000;
    assert.deepEqual(epochs(table), [start, start + 1, NAN, start + 3.25]);
    assert.deepEqual(reasons(table.unread), {
      "track point with a missing or impossible position": [2, 5],
      "unreadable time": [1, 6],
      'second "ele" in one point': [1, 7],
      'no number in "ele"': [2, 5],
    });
    assert.deepEqual(
      table.unread.columns.map(({name}) => name),
      ["sym"],
    );
  });
  it("reads dates of all zones and refuses days that are not in the calendar", () => {
    // By hand: each is 2024-02-29 23:30 UTC, or no date.
    const times = [
      "2024-02-29T23:30:00Z",
      "2024-03-01T01:00:00+01:30",
      "2024-02-29T13:30:00.000-10:00",
      "2024-02-29 23:30:00",
      "2023-02-29T23:30:00Z",
      "2024-13-01T00:00:00Z",
      "2024-02-29T24:00:01Z",
      "29.02.2024",
      "2024-02-29T23:30",
    ];
    const table = readText(
      track(times.map(time => `<trkpt lat="1" lon="2"><time>${time}</time></trkpt>`).join("")),
    );
    const at = Date.UTC(2024, 1, 29, 23, 30) / 1000;
    assert.deepEqual(epochs(table), [at, at, at, at, NAN, NAN, NAN, NAN, NAN]);
    assert.equal(reasons(table.unread)["unreadable time"][0], 5);
  });
});

describe("gpx refusals", () => {
  const refusal = (read: () => unknown) => {
    try {
      read();
    } catch (error) {
      assert.ok(error instanceof InputError, String(error));
      assert.equal(error.exitCode, 1);
      return error;
    }
    throw new Error("nothing was refused");
  };
  it("expands no entity and fetches nothing", () => {
    const {details} = refusal(() => readFixture("entities.gpx"));
    assert.equal(details.code, "doctype-refused");
    assert.match(details.words, /entities are not expanded and nothing is fetched/);
    assert.match(refusal(() => readText(track("&nbsp;"))).details.words, /undefined entity/);
    assert.equal(readText(track('<trkpt lat="1&#46;5" lon="2"/>')).columns[0].values[0], 1.5);
  });
  it("names line and column of broken XML", () => {
    const cut = refusal(() => readFixture("cut.gpx")).details;
    assert.deepEqual([cut.code, cut.line], ["broken-xml", 5]);
    const crossed = refusal(() => readText('<gpx>\n<trk>\n <trkpt lat="1"></trk></gpx>')).details;
    assert.deepEqual([crossed.line, crossed.column], [3, 22]);
    // by hand: the ">" of "</trk>"
    assert.match(crossed.words, /^broken XML: unexpected close tag/);
  });
  it("says what other XML is, and what a file without a track has", () => {
    assert.match(refusal(() => readLog(fixture("other.xml"))).message, /this XML file is <kml>, not GPX/);
    assert.match(
      refusal(() => readLog(fixture("places-only.gpx"))).message,
      /no track point, only 2 × waypoint/,
    );
    assert.match(
      refusal(() => readText('<?xml version="1.0" encoding="klingon"?><gpx/>')).message,
      /encoding "klingon" is not known/,
    );
  });
  it("gives up on elements nested without end", () => {
    assert.match(refusal(() => readText("<gpx>".repeat(100_000))).message, /nested deeper than 64/);
  });
});

describe("gpx through readLog", () => {
  const BAND = {fromMps: 75 / 3.6, toMps: 93 / 3.6, unit: "km/h", gear: null};
  // By hand: 2.5 m/s², so (93 − 75)/3.6/2.5 s.
  const PULL_S = 18 / 3.6 / 2.5;
  it("gives SI channels and passes of GPX 1.0", () => {
    const log = readLog(fixture("gpx10-speed.gpx"));
    assert.equal(log.clockZeroS, Date.UTC(2025, 5, 14, 10, 15) / 1000);
    assert.deepEqual(
      log.channels.map(({name, valueUnit}) => [name, valueUnit]),
      [
        ["time", "s"],
        ["latitude", "deg"],
        ["longitude", "deg"],
        ["height", "m"],
        ["course", "deg"],
        ["speed", "m/s"],
        ["fix", "1"],
        ["satellites", "1"],
        ["hdop", "1"],
        ["segment", null],
      ],
    );
    const [pass] = passesOfLog(log, BAND);
    assertClose(pass.elapsedS, PULL_S, 0.0005); // speeds have 3 decimals: 0.0005 m/s at both ends over 2.5 m/s²
  });
  it("finds the same pass by a speed in km/h from an extension, and by positions", () => {
    const [byExtension] = passesOfLog(readLog(fixture("extension-speed-kmh.gpx")), BAND);
    assertClose(byExtension.elapsedS, PULL_S, 0.0025); // 0.005 km/h rounding at both ends and two in a line between
    const bare = readLog(fixture("gpx11-no-speed.gpx"));
    assert.match(bare.guesses.map(guess => guess.chosen).join(), /computed from positions/);
    const [byPositions] = passesOfLog(bare, BAND);
    assert.ok(byPositions.flags.includes("derived-speed"));
    assert.ok(!byExtension.flags.includes("derived-speed"));
    // positions have 7 decimals, 6 mm: 4 mm/s of speed at 1 Hz, at both ends over 2.5 m/s²
    assertClose(byPositions.elapsedS, PULL_S, 0.005);
  });
  it("reads UTF-16, whose declaration then is no longer true", () => {
    const log = readLog(fixture("utf16.gpx"));
    assert.equal(log.clockZeroS, Date.UTC(2025, 5, 14, 10, 15) / 1000); // 12:15 at +02:00
    assert.deepEqual([log.timeS.length, log.timeS[7]], [8, 7]);
  });
  it("keeps the holes of a segment that spans weeks", () => {
    const {timeS} = readLog(fixture("one-segment-three-weeks.gpx"));
    assert.deepEqual([timeS[4], timeS[5], timeS[10]], [4, 8 * 86_400, 21 * 86_400]);
  });
  it("says that a track without times needs a rate", () => {
    const points = '<trkpt lat="1" lon="2"/><trkpt lat="1.001" lon="2"/>';
    const bytes = new TextEncoder().encode(track(points));
    assert.throws(() => readLogBytes(bytes), {name: "InputError", message: /--rate/});
    assert.deepEqual([...readLogBytes(bytes, {rateHz: 2}).timeS], [0, 0.5]);
  });
});

describe("gpx on damaged input", () => {
  function survives(bytes: Uint8Array): void {
    gpx.probe(bytes, "x");
    let table: RawTable;
    try {
      table = readBytes(bytes);
    } catch (error) {
      assert.ok(error instanceof InputError, String(error));
      return;
    }
    assert.ok(table.rows > 0);
    for (const {values, header} of table.columns) {
      assert.equal(values.length, table.rows, header);
      assert.ok(!values.some(value => Math.abs(value) === Number.POSITIVE_INFINITY), header);
    }
    const latitudes = cells(table, "latitude");
    for (const [i, value] of latitudes.entries()) {
      assert.ok(Number.isNaN(value) || Math.abs(value) <= 90);
      assert.equal(Number.isNaN(value), Number.isNaN(cells(table, "longitude")[i]));
    }
  }
  const names = ["gpx10-speed.gpx", "extension-speed-kmh.gpx", "utf16.gpx", "odd-points.gpx", "entities.gpx"];
  const originals = names.map(name => readFileSync(fixture(name)).subarray(0, 1500));
  it("survives changed, deleted and doubled bytes", () => {
    const change = fc.record({at: fc.nat(), length: fc.nat({max: 40}), bytes: fc.uint8Array({maxLength: 8})});
    fc.assert(
      fc.property(
        fc.constantFrom(...originals),
        fc.array(change, {minLength: 1, maxLength: 6}),
        (original, changes) => {
          let bytes: Uint8Array = original;
          for (const {at, length, bytes: put} of changes) {
            const from = at % (bytes.length + 1);
            bytes = Buffer.concat([bytes.subarray(0, from), put, bytes.subarray(from + length)]);
          }
          survives(bytes);
        },
      ),
      {seed: 4, numRuns: 300},
    );
  });
  it("survives well-formed XML of any shape", () => {
    const name = fc.constantFrom(
      "gpx",
      "trk",
      "trkseg",
      "trkpt",
      "ele",
      "time",
      "speed",
      "fix",
      "extensions",
      "x:speed",
      "wpt",
      "rtept",
      "constructor",
    );
    const value = fc.constantFrom(
      "",
      "1",
      "-200",
      "1e999",
      "NaN",
      "2024-06-15T10:15:00Z",
      "2024-06-15T10:15:01.5+02:00",
      "9999-99-99T99:99:99Z",
      "3d",
      "constructor",
      "<![CDATA[7]]>",
    );
    const tree = fc.letrec(tie => ({
      node: fc
        .tuple(
          name,
          value,
          value,
          fc.array(fc.oneof({depthSize: "small", withCrossShrink: true}, value, tie("node")), {maxLength: 5}),
        )
        .map(([tag, lat, lon, inner]) => {
          const quoted = (text: string) => text.replace(/[<>]/g, "");
          return `<${tag} lat="${quoted(lat)}" lon="${quoted(lon)}">${inner.join("")}</${tag}>`;
        }),
    })).node;
    fc.assert(
      fc.property(fc.array(tree, {maxLength: 4}), parts =>
        survives(new TextEncoder().encode(`<gpx version="1.1">${parts.join("")}</gpx>`)),
      ),
      {seed: 5, numRuns: 300},
    );
  });
  it("reads 20 000 points, and hostile names and attributes, in under two seconds", () => {
    const spentMs = cpuClock();
    const point = (k: number) => `<trkpt lat="47" lon="2"><ele>${k}</ele><v${k}>1</v${k}></trkpt>`;
    const table = readText(track(Array.from({length: 20_000}, (_, k) => point(k)).join("\n")));
    assert.equal(table.rows, 20_000);
    assert.ok(table.columns.length < 70);
    assert.equal(reasons(table.unread)["value beyond 60 kinds of element"][0], 20_000 - 59);
    const attributes = Array.from({length: 50_000}, (_, k) => `a${k}="1"`).join(" ");
    assert.throws(() => readText(`<gpx ${attributes}/>`), InputError);
    assert.ok(spentMs() < 2000);
  });
});
