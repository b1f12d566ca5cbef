import {z} from "zod";
import type {NewDocument, UpgradeDocument} from "../template-documents.ts";
import {errorWordsSchema} from "./common.ts";

/** What `fairpull new --json` prints. */
export const newSchema = z.strictObject({
  format: z.literal("fairpull.new/1"),
  template: z.string().nullable(),
  version: z.string().nullable(),
  folder: z.string().nullable(),
  notebook: z.string().nullable(),
  session: z.string().nullable(),
  readme: z.string().nullable(),
  questions: z.array(z.strictObject({name: z.string(), title: z.string(), version: z.string()})),
  error: errorWordsSchema.optional(),
}) satisfies z.ZodType<NewDocument>;

const ids = z.array(z.string());

/** What `fairpull upgrade --json` prints. */
export const upgradeSchema = z.strictObject({
  format: z.literal("fairpull.upgrade/1"),
  notebook: z.string().nullable(),
  template: z.string().nullable(),
  from: z.string().nullable(),
  to: z.string().nullable(),
  dry_run: z.boolean(),
  backup: z.string().nullable(),
  cells: z
    .strictObject({
      updated: ids,
      added: ids,
      removed: ids,
      conflicts: ids,
      kept: ids,
      left_out: ids,
      order: z.enum(["template", "analyst"]),
    })
    .nullable(),
  open_conflicts: z.int().min(0),
  numbers_that_change: z.array(z.strictObject({version: z.string(), words: z.string()})),
  error: errorWordsSchema.optional(),
}) satisfies z.ZodType<UpgradeDocument>;
