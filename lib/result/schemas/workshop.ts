import {z} from "zod";
import type {CollectDocument, WorkshopDocument} from "../workshop-documents.ts";
import {errorWordsSchema, verdictStateSchema} from "./common.ts";

const table = z.int().min(1);
const count = z.int().min(0);

/** What `fairpull simulate workshop --json` prints. */
export const workshopSchema = z.strictObject({
  format: z.literal("fairpull.workshop/1"),
  folder: z.string().nullable(),
  instructor: z.string().nullable(),
  tables: z.array(
    z.strictObject({table, folder: z.string(), session: z.string(), notebook: z.string(), runs: count}),
  ),
  error: errorWordsSchema.optional(),
}) satisfies z.ZodType<WorkshopDocument>;

/** What `fairpull simulate collect --json` prints. */
export const collectSchema = z.strictObject({
  format: z.literal("fairpull.collect/1"),
  folder: z.string().nullable(),
  seed: count.nullable(),
  level: z.number(),
  page: z.string().nullable(),
  tables: z.array(
    z.strictObject({
      table,
      question: z.string(),
      truth: z.number(),
      unit: z.string(),
      verdict: z
        .strictObject({
          file: z.string(),
          blind: z.boolean(),
          state: verdictStateSchema,
          shown: z.boolean(),
          estimate: z.number().nullable(),
          interval: z.strictObject({low: z.number(), high: z.number()}).nullable(),
          covered: z.boolean().nullable(),
          excluded: count,
          departures: z.string().nullable(),
        })
        .nullable(),
    }),
  ),
  summary: z
    .strictObject({
      tables: count,
      verdicts: count,
      intervals: count,
      covered: count,
      null_verdicts: count,
      null_shown: count,
      other_verdicts: count,
      other_shown: count,
    })
    .nullable(),
  problems: z.array(
    z.strictObject({
      code: z.string(),
      table: table.nullable(),
      files: z.array(z.string()),
      words: z.string(),
    }),
  ),
  error: errorWordsSchema.optional(),
}) satisfies z.ZodType<CollectDocument>;
