import type {Log} from "../result/log.ts";
import {firstNotBefore} from "../series/interpolate.ts";
import type {LoadedRun} from "./day.ts";

/** Rows `first` … `end − 1` of a log with values of their own, so that the rest of it can be given back to memory. */
export function cutLog(log: Log, first: number, end: number): Log {
  return {
    ...log,
    timeS: log.timeS.slice(first, end),
    channels: log.channels.map(channel => {
      const values = channel.values.slice(first, end);
      let valid = 0;
      for (const value of values) if (Number.isFinite(value)) valid++;
      return {...channel, values, valid};
    }),
  };
}

/** A run with the part of its log from so long before its pass to so long behind it [s]; without a pass nothing of its log. */
export function cutRun(loaded: LoadedRun, marginS: number): LoadedRun {
  const {log, pass, first, end} = loaded;
  if (!pass) return {...loaded, log: cutLog(log, first, first), first: 0, end: 0};
  const from = Math.max(first, firstNotBefore(log.timeS, pass.startS - marginS));
  const to = Math.min(end, firstNotBefore(log.timeS, pass.startS + pass.elapsedS + marginS));
  return {...loaded, log: cutLog(log, from, to), first: 0, end: to - from};
}
