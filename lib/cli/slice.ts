import {resolve} from "node:path";
import type {Command} from "commander";
import {passPowers} from "../judge/pass-power.ts";
import {requireChannel} from "../log/channel.ts";
import type {SliceDocument} from "../result/documents.ts";
import {InputError} from "../result/error.ts";
import type {Log} from "../result/log.ts";
import type {Band} from "../result/session.ts";
import {bandOf} from "../run/band.ts";
import {readForPasses} from "../run/read-for-passes.ts";
import {readSession} from "../run/session.ts";
import {fromSI} from "../units/unit.ts";
import {unreadText} from "./inspect.ts";
import type {CommandIO} from "./io.ts";
import {addLogOptions, type LogOptions, maxGapOption, readOptions, wrongOption} from "./options.ts";
import {tellAnswer, textTable} from "./output.ts";

export interface SliceOptions extends LogOptions {
  from?: string;
  to?: string;
  /** session whose car and air give wheel power */
  session?: string;
}

/** `fairpull slice FILE --from 60km/h --to 110km/h`: every pass through a speed band. */
export function registerSlice(program: Command, io: CommandIO): void {
  addLogOptions(
    program
      .command("slice")
      .description("time every pass through a speed band; a falling band is a coastdown"),
  )
    .argument("<file>", "the log")
    .option("--from <speed>", "speed at which the band starts, such as 60km/h")
    .option("--to <speed>", "speed at which it ends, such as 110km/h")
    .option("--session <file>", "session whose vehicle and air give mean wheel power and grade of each pass")
    .action((file: string, options: SliceOptions) => {
      tellAnswer(io, sliceLog(file, options, io.cwd), {json: options.json, partial: true}, document =>
        document.passes.length > 0 ? sliceText(document) : "",
      );
    });
}

/** The document of `slice`; a mistake of the user is in its `error`, with the exit code beside. */
export function sliceLog(
  file: string,
  options: SliceOptions,
  cwd: string,
): {document: SliceDocument; exitCode: 0 | 1 | 2} {
  const document: SliceDocument = {
    format: "fairpull.slice/1",
    file,
    band: null,
    passes: [],
    unread: {rows: [], columns: []},
  };
  try {
    const band = requireBand(options);
    document.band = {
      from: fromSI(band.fromMps, band.unit),
      to: fromSI(band.toMps, band.unit),
      unit: band.unit,
    };
    const maxGapS = maxGapOption(options);
    const session = options.session === undefined ? null : readSession(options.session, {cwd});
    const {
      log,
      passes,
      about: powers,
    } = readForPasses(
      resolve(cwd, file),
      band,
      {...readOptions(options), name: file, maxGapS},
      (part, found, whole) => (session ? passPowers(part, found, session, whole) : []),
    );
    document.unread = log.unread;
    document.passes = passes.map((pass, i) => ({
      start_s: pass.startS,
      elapsed_s: pass.elapsedS,
      elapsed_u_s: pass.elapsedUS,
      distance_m: pass.distanceM,
      samples: pass.samples,
      flags: pass.flags,
      ...powers[i],
    }));
    if (document.passes.length === 0) throw noPass(log, band);
    return {document, exitCode: 0};
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return {document: {...document, error: error.details}, exitCode: error.exitCode};
  }
}

function requireBand({from, to}: SliceOptions): Band {
  if (from === undefined || to === undefined) {
    throw wrongOption(
      `--${from === undefined ? "from" : "to"} is missing`,
      "give both ends of the band, --from 60km/h --to 110km/h",
    );
  }
  return bandOf(from, to);
}

function noPass(log: Log, {fromMps, toMps, unit}: Band): InputError {
  const {values, range} = requireChannel(log, "speed");
  let [slowest, fastest] = [range?.min ?? Number.POSITIVE_INFINITY, range?.max ?? Number.NEGATIVE_INFINITY];
  for (const value of values) {
    if (value < slowest) slowest = value;
    if (value > fastest) fastest = value;
  }
  const shown = (mps: number) => Number(fromSI(mps, unit).toPrecision(4));
  const outside = slowest >= Math.min(fromMps, toMps) || fastest < Math.max(fromMps, toMps);
  return new InputError(1, {
    code: "no-pass",
    words: `no pass from ${shown(fromMps)} to ${shown(toMps)} ${unit}; speed in this log lies between ${shown(slowest)} and ${shown(fastest)} ${unit}`,
    file: log.file,
    hint: outside
      ? "choose a band inside these speeds"
      : "the speeds are there, but never from one end to the other in one go; see inspect for gaps, or give a longer --max-gap",
  });
}

function sliceText({file, band, passes, unread}: SliceDocument): string {
  const withPower = passes.some(pass => pass.wheel_power_w !== undefined);
  const kilowatts = (watts: number | null | undefined) => (watts == null ? "–" : (watts / 1000).toFixed(1));
  const perCent = (grade: number | null | undefined) => (grade == null ? "–" : (100 * grade).toFixed(2));
  const table = textTable(
    [
      "start s",
      "time s",
      "± s",
      "distance m",
      "samples",
      ...(withPower ? ["wheel kW", "± kW", "grade %", "± %"] : []),
      "doubts",
    ],
    passes.map(pass => [
      pass.start_s.toFixed(3),
      pass.elapsed_s.toFixed(3),
      pass.elapsed_u_s.toFixed(3),
      pass.distance_m.toFixed(1),
      String(pass.samples),
      ...(withPower
        ? [
            kilowatts(pass.wheel_power_w),
            kilowatts(pass.wheel_power_u_w),
            perCent(pass.grade),
            perCent(pass.grade_u),
          ]
        : []),
      pass.flags.join(", "),
    ]),
    withPower ? [0, 1, 2, 3, 4, 5, 6, 7, 8] : [0, 1, 2, 3, 4],
  );
  const shown = (value: number) => Number(value.toPrecision(6));
  const {from, to, unit} = band!;
  return `${file}: ${shown(from)} to ${shown(to)} ${unit}; ± is one standard uncertainty\n\n${table}${unreadText(unread)}`;
}
