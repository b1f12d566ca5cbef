import {z} from "zod";
import type {CoastdownDocument} from "../coastdown-document.ts";
import {intervalSchema} from "./common.ts";
import {checksSchema} from "./judge.ts";

const term = {
  name: z.enum(["F0", "F1", "F2", "force"]),
  unit: z.string(),
  estimate: z.number(),
  u: z.number().min(0).nullable(),
  interval: intervalSchema.nullable(),
};

/** What `fairpull judge --json` prints for a coastdown. */
export const coastdownSchema = z.strictObject({
  format: z.literal("fairpull.judge/1"),
  test: z.literal("coastdown"),
  question: z.string(),
  state: z.enum(["found", "in-doubt", "too-few-runs"]),
  words: z.string(),
  silent: z.string(),
  next: z.string(),
  band: z.strictObject({from_mps: z.number().gt(0), to_mps: z.number().gt(0), unit: z.string()}),
  terms: z.array(z.strictObject(term)).min(2).max(3),
  covariance: z.array(z.number()).nullable(),
  correlation: z.array(z.number()),
  df: z.int().min(0),
  forces: z.array(z.strictObject({speed_mps: z.number(), ...term})),
  mass: z.strictObject({mass_kg: z.number().gt(0), effective_kg: z.number().gt(0), source: z.string()}),
  air: z.strictObject({
    density_kg_m3: z.number().gt(0),
    density_u_kg_m3: z.number().min(0),
    temperature_k: z.number().gt(0),
    assumed: z.array(z.string()),
  }),
  drag_area_m2: z.number(),
  rolling_coefficient: z.number(),
  reference: z.strictObject({
    f0_n: z.number(),
    f1_n_per_mps: z.number(),
    f2_n_per_mps2: z.number(),
    words: z.string(),
  }),
  wind: z
    .strictObject({headwind_out_mps: z.number(), u_mps: z.number().min(0).nullable(), stated: z.boolean()})
    .nullable(),
  grade: z.strictObject({out: z.number(), u: z.number().min(0).nullable()}).nullable(),
  runs: z.array(
    z.strictObject({
      run: z.int().min(1),
      file: z.string(),
      direction: z.enum(["out", "back"]).nullable(),
      used: z.boolean(),
      f0_n: z.number().nullable(),
      f1_n_per_mps: z.number().nullable(),
      f2_n_per_mps2: z.number().nullable(),
      residual_mps: z.number().nullable(),
      residuals: z
        .strictObject({
          time_s: z.array(z.number()),
          speed_mps: z.array(z.number()),
          residual_mps: z.array(z.number()),
        })
        .nullable(),
      problem: z.string().nullable(),
    }),
  ),
  excluded: z.array(z.strictObject({run: z.int().min(1), file: z.string(), reason: z.string()})),
  checks: checksSchema,
  warnings: z.array(z.string()),
  seed: z.int().min(0),
  versions: z.record(z.string(), z.string()),
  inputs: z.array(z.strictObject({file: z.string(), sha256: z.string()})),
}) satisfies z.ZodType<CoastdownDocument>;
