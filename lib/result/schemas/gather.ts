import {z} from "zod";
import type {GatherDocument} from "../gather-document.ts";
import {errorWordsSchema, flagSchema} from "./common.ts";

/** What `fairpull gather --json` prints. */
export const gatherSchema = z.strictObject({
  format: z.literal("fairpull.gather/1"),
  folder: z.string(),
  session: z.string().nullable(),
  page: z.string().nullable(),
  sheet: z
    .strictObject({
      file: z.string(),
      by: z.enum(["clock", "order"]),
      runs: z.int().min(0),
      notes: z.array(z.string()),
    })
    .nullable(),
  band: z.strictObject({from: z.number(), to: z.number(), unit: z.string(), guessed: z.boolean()}).nullable(),
  order: z.enum(["clock", "name"]).nullable(),
  runs: z.array(
    z.strictObject({
      run: z.int().min(1).nullable(),
      kind: z.enum(["pull", "coastdown"]),
      file: z.string(),
      from_s: z.number(),
      to_s: z.number(),
      span_written: z.boolean(),
      start_kmh: z.number(),
      end_kmh: z.number(),
      direction: z.enum(["out", "back"]).nullable(),
      heading_deg: z.number().min(0).max(360).nullable(),
      gear: z.int().min(1).nullable(),
      rpm_per_kmh: z.number().gt(0).nullable(),
      at: z.string().nullable(),
      told_by: z.enum(["throttle", "pedal", "speed"]),
      pass: z
        .strictObject({start_s: z.number(), elapsed_s: z.number().gt(0), elapsed_u_s: z.number().min(0)})
        .nullable(),
      flags: z.array(flagSchema),
      left_out: z.string().nullable(),
    }),
  ),
  logs: z.array(
    z.strictObject({
      file: z.string(),
      log_format: z.string(),
      duration_s: z.number().min(0),
      runs: z.int().min(0),
      sha256: z.string(),
    }),
  ),
  pairs: z.array(
    z.strictObject({
      satellite: z.string(),
      engine: z.string(),
      lag_s: z.number(),
      lag_u_s: z.number().min(0),
      scale: z.number(),
      correlation: z.number().min(-1).max(1),
      next_best_correlation: z.number().min(-1).max(1).nullable(),
      overlap_s: z.number().min(0),
    }),
  ),
  guesses: z.array(
    z.strictObject({
      what: z.string(),
      chosen: z.string(),
      confidence: z.enum(["sure", "likely", "weak"]),
    }),
  ),
  skipped: z.array(z.strictObject({file: z.string(), reason: z.string()})),
  error: errorWordsSchema.optional(),
}) satisfies z.ZodType<GatherDocument>;
