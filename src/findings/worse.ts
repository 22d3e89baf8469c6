/** Which of two findings of one rule is the worse, by their severities and by the figures they carry. */

import { jackName } from '../patch/patch.ts';
import { type Finding, type RuleName, SEVERITIES } from './finding.ts';

/** Figures by which a finding is worse: 1 if a higher figure is worse, -1 if a lower one is. */
const WORSE_WITH: Readonly<Record<string, 1 | -1>> = {
  amperes: 1,
  apartSteps: 1,
  atRailShare: 1,
  cutHits: 1,
  lawDb: 1,
  lossShare: 1,
  lowHits: 1,
  marginVolts: -1,
  missedHits: 1,
  missedPulses: 1,
  overSamples: 1,
  peakDbfs: 1,
  plugs: 1,
  racingResets: 1,
  shortCables: 1,
  shortModules: 1,
  stepSeconds: -1,
  topHertz: 1,
  topVolts: -1,
};
/** Something soft is no worse than silence. */
const OF_WHAT_SOUNDS: ReadonlySet<RuleName> = new Set(['too-quiet']);
/** Share of a figure that rounding may account for. */
const ALIKE = 1e-6;

/** Whether `now` is worse than `before`: of higher severity, or with a worse figure. */
export function isWorse(now: Finding, before: Finding): boolean {
  const rank = SEVERITIES.indexOf(before.severity) - SEVERITIES.indexOf(now.severity);
  if (rank !== 0) return rank > 0;
  return Object.entries(WORSE_WITH).some(([name, sign]) => {
    const [value, was] = [now.figures[name], before.figures[name]];
    if (typeof value !== 'number' || typeof was !== 'number') return false;
    return sign * (value - was) > ALIKE * Math.abs(was);
  });
}

/** What the rack has too few of, from which much else may follow. */
const OF_THE_RACK: ReadonlySet<RuleName> = new Set(['rack-short', 'cable-short']);

/**
 * What a check says that it did not say before, or says worse: of the rack before all else. Undefined if
 * there is nothing.
 */
export function firstWorse(
  before: readonly Finding[],
  after: readonly Finding[],
): Finding | undefined {
  const left = [...before];
  const worse = after.filter((finding) => {
    const at = left.findIndex((one) => isSameFinding(one, finding));
    const [was] = at < 0 ? [] : left.splice(at, 1);
    if (was === undefined) return !OF_WHAT_SOUNDS.has(finding.rule);
    return isWorse(finding, was);
  });
  return worse.find(({ rule }) => OF_THE_RACK.has(rule)) ?? worse[0];
}

/** Whether two findings are about the same thing, whatever their figures. */
export function isSameFinding(one: Finding, other: Finding): boolean {
  return one.rule === other.rule && subjectOf(one) === subjectOf(other);
}

function subjectOf({ jack, figures }: Finding): string {
  return jack === undefined ? String(figures.kind ?? '') : jackName(jack);
}
