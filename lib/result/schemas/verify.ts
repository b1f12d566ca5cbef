import {z} from "zod";
import type {VerifyDocument} from "../verify-document.ts";
import {errorWordsSchema} from "./common.ts";

const value = z.union([z.string(), z.number()]).nullable();
const versions = z.record(z.string(), z.string());

/** What `fairpull verify --json` prints. */
export const verifySchema = z.strictObject({
  format: z.literal("fairpull.verify/1"),
  page: z.string(),
  outcome: z.enum(["same", "differs", "inputs-differ", "cannot-run"]).nullable(),
  words: z.string(),
  inputs: z.array(
    z.strictObject({
      file: z.string(),
      state: z.enum(["same", "differs", "missing", "refused", "not-needed"]),
    }),
  ),
  differences: z.array(
    z.strictObject({where: z.string(), page: value, recomputed: value, by: z.number().nullable()}),
  ),
  recomputed: z.array(z.string()),
  not_recomputed: z.array(z.string()),
  changed_cells: z.array(z.string()).nullable(),
  versions: z.strictObject({page: versions, here: versions}).nullable(),
  notes: z.array(z.string()),
  error: errorWordsSchema.optional(),
}) satisfies z.ZodType<VerifyDocument>;
