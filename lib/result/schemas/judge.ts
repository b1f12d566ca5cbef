import {z} from "zod";
import type {JudgeDocument, JudgeFailure} from "../documents.ts";
import {errorWordsSchema, flagSchema, intervalSchema, verdictStateSchema as state} from "./common.ts";

const arm = z.enum(["baseline", "changed"]);

const answer = z.strictObject({estimate: z.number().nullable(), interval: intervalSchema.nullable(), state});

const correction = z.strictObject({
  reference: z.string(),
  runs: z.array(
    z.strictObject({
      run: z.int().min(1),
      raw_s: z.number(),
      corrected_s: z.number(),
      grade_s: z.number(),
      wind_s: z.number(),
      air_s: z.number(),
      mass_s: z.number(),
      correction_s: z.number(),
    }),
  ),
  difference: z.strictObject({
    raw_s: z.number(),
    grade_s: z.number(),
    wind_s: z.number(),
    air_s: z.number(),
    mass_s: z.number(),
    corrected_s: z.number(),
  }),
  words: z.strictObject({raw: z.string(), size: z.string()}),
  raw: answer,
  interval_with_correction: intervalSchema.nullable(),
  wind: z.strictObject({
    headwind_out_mps: z.number(),
    u_mps: z.number().min(0),
    grade_u_mps: z.number().min(0),
    basis: z.enum(["stated", "both directions", "cannot be told"]),
  }),
  profile: z
    .strictObject({runs: z.int().min(1), from_m: z.number(), to_m: z.number(), residual_m: z.number().min(0)})
    .nullable(),
  budget: z.strictObject({
    shared_u_s: z.number().min(0),
    run_by_run_u_s: z.number().min(0),
    u_s: z.number().min(0),
    expanded_s: z.number().min(0),
    rows: z.array(
      z.strictObject({
        input: z.string(),
        kind: z.enum(["shared", "run by run"]),
        value: z.string(),
        contribution_s: z.number().min(0),
      }),
    ),
  }),
  sensitivity: z.array(
    z.strictObject({
      input: z.string(),
      step: z.number(),
      unit: z.string(),
      effect_s: z.number(),
      to_erase: z.number().nullable(),
    }),
  ),
  assumed: z.array(z.string()),
  problems: z.array(z.strictObject({run: z.int().min(1), words: z.string()})),
  warnings: z.array(z.string()),
});

const beside = z.strictObject({
  name: z.enum(["studentised-bootstrap", "fittings", "runs", "randomisation", "percentile", "bca"]),
  interval: intervalSchema.nullable(),
  words: z.string(),
});

const robustness = z.strictObject({
  influence: z.array(z.strictObject({run: z.int().min(1), estimate: z.number().nullable(), state})),
  hodges_lehmann: z
    .strictObject({estimate: z.number(), interval: intervalSchema.nullable(), method: z.string()})
    .nullable(),
  outliers: z.array(z.strictObject({run: z.int().min(1), t: z.number(), p: z.number().gt(0).max(1)})),
  outlier_rule: z.string(),
  put_back: z
    .strictObject({
      runs: z.array(z.int().min(1)),
      estimate: z.number().nullable(),
      interval: intervalSchema.nullable(),
      state,
    })
    .nullable(),
});

const probability = z.number().gt(0).max(1);

const armSummary = z.strictObject({
  label: z.string(),
  n: z.int().min(0),
  mean: z.number().nullable(),
  sd: z.number().min(0).nullable(),
  precision: z.number().min(0).nullable(),
});

/** Rows of the table of checks, in every kind of test. */
export const checksSchema = z.array(
  z.strictObject({
    name: z.string(),
    outcome: z.enum(["held", "doubtful", "failed", "not-checkable"]),
    words: z.string(),
    rule: z.string().optional(),
    threshold: z.string().optional(),
    explains: z.strictObject({value: z.number(), unit: z.string()}).optional(),
    source: z.string().optional(),
  }),
);

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
    interval: intervalSchema.nullable(),
    model: z.string(),
    df: z.number().nullable(),
    check: intervalSchema.nullable(),
    beside: z.array(beside),
  }),
  look: z.strictObject({
    kind: z.enum(["final", "planned", "early", "between", "grown"]),
    look: z.int().min(1),
    runs: z.int().min(1),
    planned_at: z.array(z.int().min(1)),
    nominal_p: probability,
    false_alarm: probability.nullable(),
  }),
  permutation: z
    .strictObject({
      p: z.number().gt(0).max(1),
      floor: z.number().gt(0).max(1),
      deals: z.number(),
      basis: z.string(),
      words: z.string(),
    })
    .nullable(),
  equivalence: z
    .strictObject({interval: intervalSchema, holds: z.boolean(), p: z.number().min(0).max(1)})
    .nullable(),
  worthwhile: z.strictObject({value: z.number(), unit: z.string(), in_primary_unit: z.number().nullable()}),
  verdict: z.strictObject({
    state,
    size: z.enum(["at-least-worthwhile", "below-worthwhile", "open"]).nullable(),
    words: z.string(),
    next: z.string(),
    silent: z.string(),
    fragile: z.string().nullable(),
    further: z
      .strictObject({
        kind: z.enum(["new-test", "next-look"]),
        runs: z.int().min(1).nullable(),
        likely_runs: z.int().min(1).nullable(),
        chance: z.number().min(0).max(1).nullable(),
      })
      .nullable(),
  }),
  robustness: robustness.nullable(),
  exploratory: z.strictObject({
    measures: z.array(
      z.strictObject({
        measure: z.string(),
        unit: z.string(),
        estimate: z.number(),
        interval: intervalSchema,
        p: probability,
        adjusted_p: probability,
      }),
    ),
    method: z.string(),
  }),
  fittings: z.strictObject({
    baseline: z.int(),
    changed: z.int(),
    words: z.string(),
    spread: z
      .strictObject({between: z.number().min(0), within: z.number().min(0), df: z.int().min(1)})
      .nullable(),
  }),
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
  correction: correction.optional(),
  checks: checksSchema,
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
