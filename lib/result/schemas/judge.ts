import {z} from "zod";
import type {JudgeDocument, JudgeFailure} from "../documents.ts";
import {errorWordsSchema, flagSchema} from "./common.ts";

const arm = z.enum(["baseline", "changed"]);

const interval = z.strictObject({
  low: z.number(),
  high: z.number(),
  level: z.number().min(0).max(1),
  method: z.string(),
});

const armSummary = z.strictObject({
  label: z.string(),
  n: z.int().min(0),
  mean: z.number().nullable(),
  sd: z.number().min(0).nullable(),
  precision: z.number().min(0).nullable(),
});

/** What `fairpull judge --json` prints for a comparison. */
export const judgeSchema = z.strictObject({
  format: z.literal("fairpull.judge/1"),
  test: z.literal("comparison"),
  question: z.string(),
  primary: z.string(),
  unit: z.string(),
  arms: z.strictObject({baseline: armSummary, changed: armSummary}),
  effect: z.strictObject({
    estimate: z.number().nullable(),
    unit: z.string(),
    percent: z.number().nullable(),
    interval: interval.nullable(),
    model: z.string(),
    df: z.number().nullable(),
    check: interval.nullable(),
  }),
  permutation: z
    .strictObject({
      p: z.number().gt(0).max(1),
      floor: z.number().gt(0).max(1),
      deals: z.number(),
      basis: z.string(),
    })
    .nullable(),
  equivalence: z.strictObject({interval, holds: z.boolean(), p: z.number().min(0).max(1)}).nullable(),
  worthwhile: z.strictObject({value: z.number(), unit: z.string(), in_primary_unit: z.number().nullable()}),
  verdict: z.strictObject({
    state: z.enum([
      "shown-better",
      "shown-worse",
      "shown-different",
      "no-worthwhile-difference",
      "not-settled",
      "not-a-fair-test",
      "too-few-runs",
    ]),
    size: z.enum(["at-least-worthwhile", "below-worthwhile", "open"]).nullable(),
    words: z.string(),
    next: z.string(),
  }),
  fittings: z.strictObject({baseline: z.int(), changed: z.int(), words: z.string()}),
  runs: z.array(
    z.strictObject({
      run: z.int().min(1),
      file: z.string(),
      arm,
      value: z.number().nullable(),
      value_u: z.number().min(0).nullable(),
      used: z.boolean(),
      fitting: z.int().min(1),
      flags: z.array(flagSchema),
    }),
  ),
  checks: z.array(
    z.strictObject({
      name: z.string(),
      outcome: z.enum(["held", "doubtful", "failed", "not-checkable"]),
      words: z.string(),
    }),
  ),
  excluded: z.array(
    z.strictObject({
      run: z.int().min(1),
      file: z.string(),
      arm,
      reason: z.string(),
      excluded_before: z.string().nullable(),
    }),
  ),
  seed: z.int(),
  versions: z.record(z.string(), z.string()),
  inputs: z.array(z.strictObject({file: z.string(), sha256: z.string().regex(/^[0-9a-f]{64}$/)})),
}) satisfies z.ZodType<JudgeDocument>;

/** What it prints when there is nothing to judge or the session is wrong. */
export const judgeFailureSchema = z.strictObject({
  format: z.literal("fairpull.judge/1"),
  question: z.string().nullable(),
  runs: z.array(z.strictObject({run: z.int().min(1), file: z.string(), arm, problem: z.string().nullable()})),
  error: errorWordsSchema,
}) satisfies z.ZodType<JudgeFailure>;
