import {z} from "zod";
import type {ChannelDocument} from "../channel-document.ts";
import {intervalSchema} from "./common.ts";
import {checksSchema} from "./judge.ts";

const arm = z.enum(["baseline", "changed"]);
const run = z.int().min(1);
const interval = intervalSchema.nullable();
const number = z.number().nullable();
const armRecord = z.strictObject({label: z.string(), n: z.int().min(0), mean: number, sd: number});

/** What `fairpull judge --json` prints for a session of `test: channels`. */
export const channelsSchema = z.strictObject({
  format: z.literal("fairpull.judge/1"),
  test: z.literal("channels"),
  question: z.string(),
  primary: z.string(),
  unit: z.string().nullable(),
  knock_sign: z.enum(["pulled negative", "pulled positive"]).nullable(),
  arms: z.strictObject({baseline: armRecord, changed: armRecord}),
  effect: z.strictObject({estimate: number, interval, model: z.string(), too_few: z.string().nullable()}),
  band_time: z.strictObject({estimate: number, unit: z.literal("s"), interval}),
  pairings: z.array(
    z.strictObject({
      runs: z.array(run),
      file: z.string(),
      engine: z.string(),
      correlation: z.number(),
      lag_s: z.number(),
      lag_u_s: z.number().min(0),
      clock_rate: number,
      clock_rate_u: number,
      scale: z.number(),
      scale_u: z.number().min(0),
    }),
  ),
  curves: z
    .strictObject({
      axis: z.enum(["engine-speed", "speed"]),
      axis_unit: z.string(),
      at: z.array(z.number()),
      step: z.number(),
      runs: z.array(z.strictObject({run, arm, values: z.array(z.number())})),
      difference: z
        .strictObject({
          estimate: z.array(z.number()),
          low: z.array(z.number()),
          high: z.array(z.number()),
          adjusted_p: z.array(z.number()),
          level: z.number(),
          method: z.string(),
        })
        .nullable(),
      too_few: z.string().nullable(),
      ranges: z.array(
        z.strictObject({
          from: z.number(),
          to: z.number(),
          clear_from: z.number(),
          clear_to: z.number(),
          mean: z.number(),
          p: z.number().min(0).max(1),
        }),
      ),
      left_out: z.array(z.strictObject({run, reason: z.string()})),
    })
    .nullable(),
  curves_missing: z.string().nullable(),
  survey: z.strictObject({
    channels: z.array(
      z.strictObject({
        channel: z.string(),
        unit: z.string().nullable(),
        values: z.array(z.strictObject({run, arm, value: z.number()})),
        estimate: z.number(),
        interval: intervalSchema,
        spread: z.number(),
        size: z.number(),
        p: z.number().min(0).max(1),
        adjusted_p: z.number().min(0).max(1),
        differs: z.boolean(),
      }),
    ),
    method: z.string(),
    looked: z.int().min(0),
    level: z.number(),
    left_out: z.array(z.strictObject({name: z.string(), reason: z.string()})),
  }),
  conditions: z.array(
    z.strictObject({
      name: z.string(),
      unit: z.string().nullable(),
      difference: number,
      interval,
      slope: number,
      slope_interval: interval,
      explains: number,
      explains_interval: interval,
      matched: z.boolean().nullable(),
      words: z.string(),
    }),
  ),
  carry_over: z.strictObject({
    estimate: number,
    interval,
    first: z.int().min(0),
    later: z.int().min(0),
    outcome: z.enum(["held", "doubtful", "failed", "not-checkable"]),
    words: z.string(),
  }),
  power: z.strictObject({estimate: number, interval, words: z.string()}).nullable(),
  words: z.string(),
  silent: z.string(),
  next: z.string(),
  runs: z.array(
    z.strictObject({
      run,
      file: z.string(),
      engine: z.string().nullable(),
      arm,
      value: number,
      used: z.boolean(),
    }),
  ),
  checks: checksSchema,
  excluded: z.array(z.strictObject({run, file: z.string(), arm, reason: z.string()})),
  seed: z.int().min(0),
  versions: z.strictObject({fairpull: z.string(), node: z.string()}),
  inputs: z.array(z.strictObject({file: z.string(), sha256: z.string()})),
}) satisfies z.ZodType<ChannelDocument>;
