import {z} from "zod";
import type {SimulateDocument} from "../documents.ts";
import {errorWordsSchema} from "./common.ts";

/** What `fairpull simulate --json` prints. */
export const simulateSchema = z.strictObject({
  format: z.literal("fairpull.simulate/1"),
  scenario: z.string().nullable(),
  seed: z.int().min(0).nullable(),
  folder: z.string().nullable(),
  order: z.array(z.enum(["baseline", "changed"])),
  files: z.array(z.strictObject({file: z.string(), sha256: z.string().regex(/^[0-9a-f]{64}$/)})),
  truth: z
    .strictObject({
      effect: z.strictObject({value: z.number(), unit: z.string()}),
      relative_power: z.number(),
      band_time_s: z.strictObject({baseline: z.number(), changed: z.number()}),
    })
    .nullable(),
  road_load: z
    .strictObject({
      f0_n: z.number(),
      f1_n_per_mps: z.number(),
      f2_n_per_mps2: z.number(),
      drag_area_m2: z.number(),
      rolling_coefficient: z.number(),
      air_density_kg_m3: z.number(),
    })
    .optional(),
  scenarios: z.array(z.strictObject({name: z.string(), words: z.string(), seed: z.int().min(0)})),
  error: errorWordsSchema.optional(),
}) satisfies z.ZodType<SimulateDocument>;
