import {z} from "zod";
import type {SliceDocument} from "../documents.ts";
import {errorWordsSchema, flagSchema, unreadSchema} from "./common.ts";

/** What `fairpull slice --json` prints. */
export const sliceSchema = z.strictObject({
  format: z.literal("fairpull.slice/1"),
  file: z.string(),
  band: z.strictObject({from: z.number(), to: z.number(), unit: z.string()}).nullable(),
  passes: z.array(
    z.strictObject({
      start_s: z.number(),
      elapsed_s: z.number().gt(0),
      elapsed_u_s: z.number().min(0),
      distance_m: z.number().gt(0),
      samples: z.int().min(0),
      flags: z.array(flagSchema),
      wheel_power_w: z.number().nullable().optional(),
      wheel_power_u_w: z.number().min(0).nullable().optional(),
      grade: z.number().nullable().optional(),
      grade_u: z.number().min(0).nullable().optional(),
    }),
  ),
  unread: unreadSchema,
  error: errorWordsSchema.optional(),
}) satisfies z.ZodType<SliceDocument>;
