import {z} from "zod";
import type {PublishDocument, RunDocument} from "../notebook-documents.ts";
import {errorWordsSchema} from "./common.ts";
import {resultSchema} from "./result.ts";

/** What `fairpull run --json` prints. */
export const runSchema = z.strictObject({
  format: z.literal("fairpull.run/1"),
  notebook: z.string(),
  title: z.string().nullable(),
  cells: z.int().min(0),
  verdict: z.string().nullable(),
  result: resultSchema.nullable(),
  inputs: z.array(z.strictObject({file: z.string(), sha256: z.string().regex(/^[0-9a-f]{64}$/)})),
  error: errorWordsSchema.optional(),
}) satisfies z.ZodType<RunDocument>;

/** What `fairpull publish --json` prints. */
export const publishSchema = z.strictObject({
  format: z.literal("fairpull.publish/1"),
  pages: z.array(
    z.strictObject({
      notebook: z.string(),
      page: z.string().nullable(),
      title: z.string().nullable(),
      verdict: z.string().nullable(),
      result: resultSchema.nullable(),
      error: errorWordsSchema.optional(),
    }),
  ),
  error: errorWordsSchema.optional(),
}) satisfies z.ZodType<PublishDocument>;
