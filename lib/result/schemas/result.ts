import {z} from "zod";
import type {ResultDocument} from "../result-document.ts";
import {channelsSchema} from "./channels.ts";
import {coastdownSchema} from "./coastdown.ts";
import {judgeSchema} from "./judge.ts";
import {repeatabilitySchema} from "./repeatability.ts";

/** A result of any kind that a page opens with. */
export const resultSchema = z.discriminatedUnion("test", [
  judgeSchema,
  repeatabilitySchema,
  coastdownSchema,
  channelsSchema,
]) satisfies z.ZodType<ResultDocument>;
