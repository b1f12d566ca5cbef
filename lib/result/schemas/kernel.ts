import {z} from "zod";
import type {DoctorDocument, KernelDocument} from "../kernel-documents.ts";
import {errorWordsSchema} from "./common.ts";

/** What `fairpull kernel install --json` and `fairpull kernel uninstall --json` print. */
export const kernelSchema = z.strictObject({
  format: z.literal("fairpull.kernel/1"),
  action: z.enum(["install", "uninstall"]),
  kernels: z.array(z.strictObject({name: z.string(), folder: z.string()})),
  error: errorWordsSchema.optional(),
}) satisfies z.ZodType<KernelDocument>;

/** What `fairpull doctor --json` prints. */
export const doctorSchema = z.strictObject({
  format: z.literal("fairpull.doctor/1"),
  items: z.array(
    z.strictObject({
      name: z.string(),
      state: z.enum(["there", "missing", "wrong"]),
      required: z.boolean(),
      words: z.string(),
      hint: z.string().nullable(),
    }),
  ),
  error: errorWordsSchema.optional(),
}) satisfies z.ZodType<DoctorDocument>;
