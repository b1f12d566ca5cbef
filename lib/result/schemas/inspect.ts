import {z} from "zod";
import type {InspectDocument} from "../documents.ts";
import {errorWordsSchema, unreadSchema} from "./common.ts";

/** What `fairpull inspect --json` prints. */
export const inspectSchema = z.strictObject({
  format: z.literal("fairpull.inspect/1"),
  file: z.string(),
  log_format: z.string().nullable(),
  rows: z.int().min(0),
  duration_s: z.number().min(0).nullable(),
  rate_hz: z.number().gt(0).nullable(),
  channels: z.array(
    z.strictObject({
      name: z.string(),
      column: z.string(),
      unit: z.string().nullable(),
      kind: z.enum(["number", "text", "flag"]),
      min: z.number().nullable(),
      max: z.number().nullable(),
      valid: z.int().min(0),
    }),
  ),
  gaps: z.array(z.strictObject({at_s: z.number(), length_s: z.number().gt(0)})),
  guesses: z.array(
    z.strictObject({
      what: z.string(),
      chosen: z.string(),
      confidence: z.enum(["sure", "likely", "weak"]),
    }),
  ),
  unread: unreadSchema,
  error: errorWordsSchema.optional(),
}) satisfies z.ZodType<InspectDocument>;
