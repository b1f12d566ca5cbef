import {InputError} from "../result/error.ts";
import type {Guess} from "../result/log.ts";
import {CELLS, type Cell, type MergedRows, mergeSentences} from "./nmea/merge.ts";
import {sentencesOf} from "./nmea/scan.ts";
import {checksum} from "./nmea/sentence.ts";
import type {LogReader, RawColumn, RawTable} from "./reader.ts";
import type {ByteSource} from "./source.ts";
import {createTally, type Tally} from "./tally.ts";
import {plainTextSource, utf16Order} from "./text.ts";

/** Header and unit of the cells that keep theirs; those of speed and course depend on the file. */
const COLUMNS: Partial<Record<Cell, [header: string, unit: string | null]>> = {
  latitude: ["latitude", "deg"],
  longitude: ["longitude", "deg"],
  height: ["height", "m"],
  satellites: ["satellites", null],
  hdop: ["hdop", null],
  "fix quality": ["fix quality", null],
};
const SPEED_UNIT = {RMC: "kn", VTG: "km/h"};
const SENTENCE = /\$([A-Z]{5},[^$*\r\n]*)(?:\*([0-9A-F]{2}))?/gi;
const DAY_S = 86_400;

/** NMEA 0183, the sentences that satellite receivers write: RMC, GGA, VTG, ZDA of any talker. */
export const nmea: LogReader = {
  format: "NMEA 0183",
  probe(head) {
    const text = new TextDecoder(utf16Order(head) ?? "latin1").decode(head);
    let sure = 0;
    for (const [, body, digits] of text.matchAll(SENTENCE)) {
      if (digits !== undefined && checksum(body) === Number.parseInt(digits, 16)) return 1;
      if (/^..(?:RMC|GGA|VTG|ZDA)/i.test(body)) sure = 0.6; // no checksums, or not the right ones
    }
    return sure;
  },
  read: readNmea,
};

function readNmea(original: ByteSource): RawTable {
  const tally = createTally();
  const merged = mergeSentences(sentencesOf(plainTextSource(original).source, tally), tally);
  const rows = merged.timeS.length;
  const used = usedCells(merged);
  if (used.length === 0) throw nothingRead(original.file, tally);
  const columns: RawColumn[] = [timeColumn(merged)];
  const main = mainSpeed(merged);
  for (const name of used) {
    const [header, unit] = COLUMNS[name] ?? motionColumn(name, main);
    const values = Float64Array.from(merged.cells[name]);
    const number = columns.length + 1;
    columns.push({number, header, unit, source: null, kind: "number", values, zero: 0, labels: null});
  }
  return {
    format: nmea.format,
    columns,
    rows,
    lineOf: row => merged.lines[row],
    unread: {rows: tally.rows(), columns: []},
    guesses: guessesOf(merged, used, main),
  };
}

function usedCells({cells}: MergedRows): Cell[] {
  return CELLS.filter(name => cells[name].some(value => !Number.isNaN(value)));
}

function timeColumn({timeS, firstDay}: MergedRows): RawColumn {
  return {
    number: 1,
    header: "time",
    unit: null,
    source: null,
    kind: firstDay === null ? "clock" : "date-time",
    values: Float64Array.from(timeS),
    zero: (firstDay ?? 0) * DAY_S,
    labels: null,
  };
}

/** The sentence that tells the speed more often; VTG may come at a higher rate than RMC. */
function mainSpeed({cells}: MergedRows): "RMC" | "VTG" {
  const count = (name: Cell) => cells[name].reduce((n, value) => (Number.isNaN(value) ? n : n + 1), 0);
  return count("VTG speed") > count("RMC speed") ? "VTG" : "RMC";
}

function motionColumn(name: Cell, main: "RMC" | "VTG"): [header: string, unit: string] {
  const [type, what] = name.split(" ") as ["RMC" | "VTG", string];
  return [type === main ? what : name, what === "speed" ? SPEED_UNIT[type] : "deg"];
}

function guessesOf({unchecked}: MergedRows, used: Cell[], main: string): Guess[] {
  const guesses: Guess[] = [];
  if (unchecked.count > 0) {
    const {count, firstLine} = unchecked;
    const chosen = `${count} complete sentences without one are taken, the first in line ${firstLine}`;
    guesses.push({what: "checksum", chosen, confidence: "likely"});
  }
  if (used.includes("VTG speed")) {
    guesses.push({what: "time of VTG", chosen: "that of the sentence before it", confidence: "likely"});
    if (used.includes("RMC speed")) {
      guesses.push({
        what: "speed",
        chosen: `that of ${main}, which tells it as often or more`,
        confidence: "likely",
      });
    }
  }
  return guesses;
}

function nothingRead(file: string, tally: Tally): InputError {
  const reasons = tally.rows().sort((a, b) => b.count - a.count);
  const found = reasons
    .slice(0, 3)
    .map(row => `${row.count} × ${row.reason} (first in line ${row.first_line})`);
  return new InputError(1, {
    code: "nothing-to-read",
    words: `no sentence tells a position or a speed: ${found.join(", ") || "there is none"}`,
    file,
    line: reasons[0]?.first_line,
    hint: "give a recording with RMC, or GGA and VTG, and a satellite fix",
  });
}
