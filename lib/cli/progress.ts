export {type Progress, progressBar, type Terminal} from "../figures/progress-bar.ts";
