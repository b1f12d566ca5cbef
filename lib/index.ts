/**
 * fairpull: from a folder of road logs to a verdict with an honest interval.
 *
 * A notebook imports it as `import * as fp from "fairpull"` and walks `readSession` → `loadDay` → `judge`, with the
 * figures and tables between. Everything is in SI unless a name says otherwise; angles in degrees.
 *
 * @packageDocumentation
 */

export {type ChannelDay, loadChannelDay} from "./channels/channel-day.ts";
export type {Pairing} from "./channels/pair-runs.ts";
export {channelCurvesFigure} from "./figures/channel-curves.ts";
export {channelDifferenceFigure} from "./figures/channel-difference.ts";
export {channelSurveyFigure} from "./figures/channel-survey.ts";
export {classPicture} from "./figures/class-picture.ts";
export {coastdownResiduals} from "./figures/coastdown-residuals.ts";
export {correctionWaterfall} from "./figures/correction-waterfall.ts";
export {type CoveragePoint, coverageFigure} from "./figures/coverage.ts";
export {type Displayed, display, type LiveDisplay, liveDisplay} from "./figures/display.ts";
export {effectFigure} from "./figures/effect.ts";
export {type Figure, type FigureOptions, figure} from "./figures/figure.ts";
export {forceBudget} from "./figures/force-budget.ts";
export {interactive} from "./figures/interactive.ts";
export {powerFigure} from "./figures/power.ts";
export {type ProgressDisplay, progressDisplay} from "./figures/progress.ts";
export {roadFigure} from "./figures/road.ts";
export {runOrder} from "./figures/run-order.ts";
export {speedTraces} from "./figures/speed-traces.ts";
export {type Table, table} from "./figures/table.ts";
export {afternoonDrift} from "./judge/afternoon.ts";
export {judgeChannels} from "./judge/channels.ts";
export {
  type CarUncertainty,
  type Claim,
  type ClaimedNumber,
  type ClaimOnTheRoad,
  claimOnTheRoad,
} from "./judge/claim.ts";
export {judgeCoastdown} from "./judge/coastdown.ts";
export {correctionOf, type JudgedCorrection} from "./judge/correction.ts";
export {dayRoad} from "./judge/day-road.ts";
export {judge} from "./judge/judge.ts";
export {powerBudget} from "./judge/power-budget.ts";
export {powerCurves} from "./judge/power-curves.ts";
export {judgeRepeatability} from "./judge/repeatability.ts";
export {type BandCar, bandCar} from "./judge/sensitivity.ts";
export {findChannel, requireChannel} from "./log/channel.ts";
export {type ReadLogOptions, readLog, readLogBytes} from "./log/read.ts";
export type {BudgetLine, Uncertain} from "./meter/budget.ts";
export {differenceOfParts} from "./meter/difference.ts";
export {type CircuitShare, type DirectCurrentCircuit, directCurrentShare} from "./meter/direct-current.ts";
export {type Instrument, resistanceFromCurrent} from "./meter/four-wire.ts";
export {
  expectedResistanceOhm,
  MATERIALS,
  type Material,
  resistanceAt20C,
  wireGaugeAreaM2,
} from "./meter/material.ts";
export type {MeterRange, Readings} from "./meter/reading.ts";
export {halfWidth, type Resistance, type TwoWireBench, twoWireResistance} from "./meter/resistance.ts";
export {
  gapEnergyChange,
  SPARK_CAUTION,
  SPARK_LIMITS,
  type SparkCircuit,
  type SparkEnergy,
  sparkEnergy,
} from "./meter/spark-discharge.ts";
export type * from "./result/channel-document.ts";
export type * from "./result/channel-session.ts";
export type * from "./result/coastdown-document.ts";
export type * from "./result/day-road.ts";
export type * from "./result/documents.ts";
export {type ErrorWords, InputError} from "./result/error.ts";
export type * from "./result/figure.ts";
export type * from "./result/log.ts";
export type * from "./result/power-curves.ts";
export type {RepeatabilityDocument} from "./result/repeatability-document.ts";
export type {ResultDocument} from "./result/result-document.ts";
export type * from "./result/session.ts";
export type * from "./result/trace.ts";
export {VERSION} from "./result/version.ts";
export type {CollectedTable} from "./result/workshop-documents.ts";
export {type AirState, airDensityIdealMix} from "./roadload/air-density.ts";
export {airDensityPicard2008, type MoistAir, moistAirPicard2008} from "./roadload/air-density-picard.ts";
export {type BandPower, bandPowerW, enginePowerW} from "./roadload/band-power.ts";
export {coastFaults} from "./roadload/coast-faults.ts";
export type {CoastRun, CoastTerm, RunFit} from "./roadload/coast-run.ts";
export type {CoastEstimate} from "./roadload/coastdown.ts";
export {type CoastdownFit, type CoastdownOptions, fitCoastdown} from "./roadload/coastdown.ts";
export {
  type DragAndRolling,
  type LoadConditions,
  levelForceN,
  loadWords,
  type RoadLoadCoefficients,
  toCoefficients,
  toDragAndRolling,
} from "./roadload/coefficients.ts";
export type {CorrectionParts} from "./roadload/corrected-time.ts";
export {type RunConditions, timeCorrectionS} from "./roadload/corrected-time.ts";
export type {
  Change,
  CorrectedRun,
  DayInputs,
  DayWind,
  Uncertain as UncertainInput,
} from "./roadload/day-correction.ts";
export {gravityWgs84} from "./roadload/gravity.ts";
export {
  correctedPowerW,
  type IntakeAir,
  type PowerCorrection,
  type PowerStandard,
  powerCorrection,
} from "./roadload/power-correction.ts";
export {atReference, type LoadWeather} from "./roadload/reference-conditions.ts";
export type {ProfileOptions} from "./roadload/road-profile.ts";
export {type RoadProfile, type RunHeights, roadProfile} from "./roadload/road-profile.ts";
export {type SmoothPull, smoothPull} from "./roadload/smooth-pull.ts";
export type {StandardAir} from "./roadload/standard-atmosphere.ts";
export {standardAtmosphere1976, stationPressurePa} from "./roadload/standard-atmosphere.ts";
export type {CommonTrack, RunPlace} from "./roadload/track.ts";
export {readChannelSession} from "./run/channel-session.ts";
export type {CoastdownSessionRun} from "./run/coastdown-session.ts";
export {type CoastdownSession, readCoastdownSession} from "./run/coastdown-session.ts";
export type {LoadDayOptions} from "./run/day.ts";
export {type LoadedRun, loadDay, runTraces, type TestDay} from "./run/day.ts";
export {type FoundRun, findRuns} from "./run/find-runs.ts";
export type {FixQuality} from "./run/flags.ts";
export {type FolderLogs, readFolder} from "./run/folder-logs.ts";
export {type Gathered, type GatheredRun, type GatherOptions, gatherFolder} from "./run/gather.ts";
export type {GearEvidence} from "./run/gear.ts";
export {type LogPair, pairLogs, withEngineChannels} from "./run/pair-logs.ts";
export {type Pass, type PassOptions, passesOfLog} from "./run/passes.ts";
export {readRepeatabilitySession} from "./run/repeatability-session.ts";
export {readSession} from "./run/session.ts";
export {readTruth} from "./run/truth.ts";
export {type Alignment, type AlignOptions, alignSeries} from "./series/align.ts";
export {
  type CoastTruth,
  type SimulatedCoastDay,
  type SimulatedCoastRun,
  simulateCoastDay,
} from "./simulate/coast-day.ts";
export {coastDayFiles} from "./simulate/coast-files.ts";
export {COAST_SCENARIOS, type CoastScenario, coastScenarioNamed} from "./simulate/coast-scenario.ts";
export {
  COVERAGE_METHODS,
  type CoverageMethod,
  type CoverageOptions,
  type CoverageRow,
  coverageRow,
  type MethodCoverage,
} from "./simulate/coverage.ts";
export {type CoverageCase, type NoiseName, noiseWords, planWords} from "./simulate/coverage-cases.ts";
export {type CoverageTable, coverageByPlan, type PlanCoverage} from "./simulate/coverage-table.ts";
export {
  type DayTruth,
  type SimulatedDay,
  type SimulatedRun,
  simulateDay,
  trueEffect,
} from "./simulate/day.ts";
export type {EngineColumn, SimulatedEngineLog} from "./simulate/engine.ts";
export {dayFiles} from "./simulate/files.ts";
export type {LoggedChannels} from "./simulate/logger.ts";
export {readCoverageTable} from "./simulate/read-coverage-table.ts";
export type {Direction} from "./simulate/road.ts";
export type {
  DayScenario,
  PartEffect,
  PowerVariation,
  SimulatedDriver,
  SimulatedEngine,
  SimulatedLogger,
  SimulatedRoad,
  SimulatedWind,
} from "./simulate/scenario.ts";
export {SCENARIOS, scenarioNamed} from "./simulate/scenarios.ts";
export type {SimulatedVehicle} from "./simulate/vehicle.ts";
export {
  type ChannelsDay,
  type ChannelsOptions,
  channelsOfNothing,
  comparedChannels,
  flukeShares,
} from "./simulate/workshop/channels-of-nothing.ts";
export {
  type ExpectationCount,
  type ExpectationDay,
  expectantDriver,
  type LeavingOut,
} from "./simulate/workshop/expectant-driver.ts";
export {handIn} from "./simulate/workshop/hand-in.ts";
export {type WriteDayOptions, writeDay} from "./simulate/write.ts";
export type {Interval} from "./stats/interval.ts";
export type {VarianceComponent} from "./stats/variance-component.ts";
export {conditionsTable, pairingsTable, surveyTable} from "./tables/channel-tables.ts";
export {checksTable} from "./tables/checks-table.ts";
export {coastRunsTable, roadLoadTable, termCorrelation} from "./tables/coastdown-tables.ts";
export {correctionBudgetTable} from "./tables/correction-budget-table.ts";
export {correctionTable} from "./tables/correction-table.ts";
export {type FrameLike, type FrameTableOptions, frameTable} from "./tables/frame-table.ts";
export {influenceTable} from "./tables/influence-table.ts";
export {intervalsTable} from "./tables/intervals-table.ts";
export {planTable, worthwhileWords} from "./tables/plan-table.ts";
export {powerBudgetTable} from "./tables/power-budget-table.ts";
export {type Prose, prose} from "./tables/prose.ts";
export {type RunRow, runRows, runTable} from "./tables/run-table.ts";
export {powerSensitivityTable, sensitivityTable} from "./tables/sensitivity-table.ts";
export {cardText, RESULT_MIME, type VerdictCard, verdictCard} from "./tables/verdict-card.ts";
export type {AnswerOptions} from "./trial/answer.ts";
export {type ArmSummary, type CompareOptions, type Comparison, compare} from "./trial/compare.ts";
export type {Better} from "./trial/decide.ts";
export {type Drift, driftOf} from "./trial/drift.ts";
export {
  compareMeasures,
  type MeasureComparison,
  type MeasureRuns,
  type MeasuresComparison,
} from "./trial/measures.ts";
export type {TrialRun} from "./trial/model.ts";
export type {OrderLimits, SchedulePlan} from "./trial/order-limits.ts";
export {type PowerPlan, planPower, simulatePower, smallestShown} from "./trial/plan-power.ts";
export {
  type Reach,
  type Repeatability,
  type RepeatedRun,
  reachOfPlans,
  repeatabilityOf,
} from "./trial/repeatability.ts";
export {
  drawSchedule,
  MOST_RUNS,
  type OrderChoice,
  orderChoice,
  runsNeeded,
  scheduledWays,
} from "./trial/schedule.ts";
export {
  type ParseQuantityOptions,
  type PrintQuantityOptions,
  parseQuantity,
  printQuantity,
  type Quantity,
} from "./units/quantity.ts";
export {channelName, printDifference, printSpan} from "./units/shown.ts";
export type {Dimension, UnitRow} from "./units/table.ts";
export {fromSI, toSI} from "./units/unit.ts";
