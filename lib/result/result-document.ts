import type {ChannelDocument} from "./channel-document.ts";
import type {CoastdownDocument} from "./coastdown-document.ts";
import type {JudgeDocument} from "./documents.ts";
import type {RepeatabilityDocument} from "./repeatability-document.ts";

/** The result of a session, of any kind that a page opens with: told apart by `test`. */
export type ResultDocument = JudgeDocument | RepeatabilityDocument | CoastdownDocument | ChannelDocument;
