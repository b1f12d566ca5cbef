import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {fixOfWord} from "../../lib/log/fix-scale.ts";
import {readLogBytes} from "../../lib/log/read.ts";

const text = (head: string, cells: string[]) =>
  new TextEncoder().encode(
    `Time [s],Speed [km/h],${head}\n${cells.map((cell, i) => `${i / 10},${50 + i},${cell}\n`).join("")}`,
  );

function fixes(head: string, cells: string[]): number[] {
  const log = readLogBytes(text(head, cells), {name: "fix.csv"});
  return [...log.channels.find(channel => channel.name === "fix")!.values];
}

describe("the channel of fixes", () => {
  it("has one scale whatever the column holds", () => {
    // GGA: NMEA 0183, quality indicator 0 none, 1 fix, 2 differential, 4 RTK fixed, 5 RTK float, 6 estimated
    assert.deepEqual(fixes("Fix quality", ["0", "1", "2", "4", "5", "6"]), [0, 3, 4, 6, 5, 1]);
    assert.deepEqual(fixes("Fix type", ["0", "1", "2", "3", "4", "5"]), [0, 1, 2, 3, 3, 0]);
    assert.deepEqual(fixes("Fix mode", ["1", "2", "3", "3"]), [0, 2, 3, 3]);
    assert.deepEqual(fixes("GPS fix", ["0", "1", "1", "0"]), [0, 3, 3, 0]);
    assert.deepEqual(
      fixes("Fix type", ["No fix", "2D", "3D", "3D/DGNSS", "RTK fixed", "RTK float"]),
      [0, 2, 3, 4, 6, 5],
    );
  });
  it("is that of GPX and NMEA, too", () => {
    const points = ["none", "2d", "3d", "dgps", "pps"].map(
      (word, i) =>
        `<trkpt lat="48.000${i}" lon="11"><time>2031-05-17T14:05:3${i}Z</time><fix>${word}</fix></trkpt>`,
    );
    const gpx = readLogBytes(
      new TextEncoder().encode(`<gpx version="1.1"><trk><trkseg>${points.join("")}</trkseg></trk></gpx>`),
      {name: "a.gpx"},
    );
    assert.deepEqual([...gpx.channels.find(({name}) => name === "fix")!.values], [0, 2, 3, 4, 3]);
    const sentences = [1, 2, 4].map((quality, i) => {
      const body = `GPGGA,14053${i}.00,4800.000${i},N,01100.0000,E,${quality},09,0.9,412.0,M,47.0,M,,`;
      const sum = [...body].reduce((all, c) => all ^ c.charCodeAt(0), 0);
      return `$${body}*${sum.toString(16).toUpperCase().padStart(2, "0")}\r\n`;
    });
    const nmea = readLogBytes(new TextEncoder().encode(sentences.join("")), {name: "a.nmea"});
    assert.deepEqual([...nmea.channels.find(({name}) => name === "fix")!.values], [3, 4, 6]);
  });
  it("says what the numbers were taken for, and keeps words it does not know", () => {
    const log = readLogBytes(text("Fix type", ["0", "2", "3"]), {name: "fix.csv"});
    assert.equal(
      log.guesses.find(({what}) => what === 'scale of "Fix type"')!.chosen,
      "a receiver's type of fix (2 = 2D, 3 = 3D)",
    );
    assert.equal(fixOfWord("perhaps"), null);
    const words = readLogBytes(text("Fix type", ["alpha", "beta", "alpha"]), {name: "fix.csv"});
    assert.equal(words.channels.find(({name}) => name === "fix")!.kind, "text");
  });
});
