import {z} from "zod";
import type {RepeatabilityDocument} from "../repeatability-document.ts";
import {flagSchema, intervalSchema} from "./common.ts";
import {checksSchema} from "./judge.ts";

/** What `fairpull judge --json` prints for a session of `test: repeatability`. */
export const repeatabilitySchema = z.strictObject({
  format: z.literal("fairpull.judge/1"),
  test: z.literal("repeatability"),
  question: z.string(),
  primary: z.string(),
  unit: z.string(),
  car: z.string(),
  repeatability: z.strictObject({
    n: z.int().min(1),
    mean: z.number(),
    sd: z.number().min(0).nullable(),
    sd_percent: z.number().min(0).nullable(),
    sd_interval: intervalSchema.nullable(),
    limit: z.number().min(0).nullable(),
    drift: z.strictObject({per_run: z.number(), interval: intervalSchema.nullable()}).nullable(),
    sd_about_drift: z.number().min(0).nullable(),
    lag_one: z.number().nullable(),
  }),
  reach: z.array(z.strictObject({order: z.string(), runs: z.int().min(2), smallest: z.number().gt(0)})),
  worthwhile: z.strictObject({value: z.number(), unit: z.string(), in_primary_unit: z.number()}),
  words: z.string(),
  silent: z.string(),
  next: z.string(),
  runs: z.array(
    z.strictObject({
      run: z.int().min(1),
      file: z.string(),
      value: z.number().nullable(),
      value_u: z.number().min(0).nullable(),
      used: z.boolean(),
      flags: z.array(flagSchema),
    }),
  ),
  checks: checksSchema,
  excluded: z.array(z.strictObject({run: z.int().min(1), file: z.string(), reason: z.string()})),
  seed: z.int().min(0),
  versions: z.strictObject({fairpull: z.string(), node: z.string()}),
  inputs: z.array(z.strictObject({file: z.string(), sha256: z.string()})),
}) satisfies z.ZodType<RepeatabilityDocument>;
