import {dirname, resolve} from "node:path";
import {recordInput} from "../log/record-input.ts";
import type {ChannelSession, ChannelSettings} from "../result/channel-session.ts";
import {readSessionBytes} from "./session.ts";
import {readSessionFile} from "./session-file.ts";
import {channelKeys} from "./session-schema.ts";

/** Keys of a comparison that a session of channels does not have: it gives no verdict. */
const NOT_HERE = ["worthwhile", "seal"];

type Fail = (path: readonly PropertyKey[], words: string, hint: string) => never;

/**
 * Reads a session of `test: channels`: the runs, arms and plan of a comparison, the channel asked about, and where the engine's
 * log is (`engine: {file}` for the whole day, `engine` of a run for that run, neither where the run's own log has the channels).
 *
 * @throws {InputError} exit code 2 with line and column, as `readSession`
 */
export function readChannelSession(file: string, {cwd = process.cwd()}: {cwd?: string} = {}): ChannelSession {
  const path = resolve(cwd, file);
  let channels: ChannelSettings | null = null;
  const session = readSessionBytes(readSessionFile(path, file), {
    file,
    folder: dirname(path),
    bothArms: true,
    prepare(written, fail) {
      const {prepared, settings} = takeOut(written, fail);
      channels = settings;
      return prepared;
    },
  });
  recordInput(path, session.sha256);
  return {...session, test: "channels", channels: channels!};
}

/** Splits what is written into the keys of channels and what a comparison would be written as. */
function takeOut(
  written: Record<string, unknown>,
  fail: Fail,
): {prepared: Record<string, unknown>; settings: ChannelSettings} {
  for (const key of NOT_HERE) {
    if (key in written)
      fail([key], `${key}: a session of channels gives no verdict, and has none`, "take it out");
  }
  const parsed = channelKeys.safeParse(written);
  if (!parsed.success) {
    const [{path, message, code}] = parsed.error.issues;
    const key = path.map(part => (typeof part === "number" ? `[${part + 1}]` : String(part))).join(".");
    const known =
      code === "unrecognized_keys" && key === "engine"
        ? "; known: file, knockSign, slope, slopeUncertainty"
        : "";
    fail(
      path,
      `${key}: ${message.charAt(0).toLowerCase()}${message.slice(1)}${known}`,
      hintFor(String(path[0])),
    );
  }
  const {primary, axis = "engine-speed", engine, runs} = parsed.data!;
  if ((engine?.slope === undefined) !== (engine?.slopeUncertainty === undefined)) {
    fail(
      ["engine"],
      "engine: slope and slopeUncertainty belong together",
      "a slope that nobody knows the uncertainty of carries nothing; give both, or neither",
    );
  }
  const {engine: _engine, primary: _primary, axis: _axis, ...rest} = written;
  const own = Array.isArray(written["runs"]) ? written["runs"] : [];
  return {
    prepared: {
      ...rest,
      test: "comparison",
      primary: "band-time",
      worthwhile: "1 %",
      runs: own.map((run: unknown) => {
        if (typeof run !== "object" || run === null) return run;
        const {engine: _log, ...other} = run as Record<string, unknown>;
        return other;
      }),
    },
    settings: {
      primary: primary.channel,
      axis,
      knockSign: engine?.knockSign ?? null,
      slope:
        engine?.slope === undefined || engine.slopeUncertainty === undefined
          ? null
          : {perDegree: engine.slope, perDegreeU: engine.slopeUncertainty},
      engine: (runs ?? []).map(run => run.engine ?? engine?.file ?? null),
    },
  };
}

function hintFor(key: string): string {
  if (key === "primary") return "write for example primary: {channel: knock-correction}";
  if (key === "axis") return "write axis: engine-speed or axis: speed";
  return "write for example engine: {knockSign: pulled negative, slope: 0.6 %, slopeUncertainty: 0.3 %}";
}
