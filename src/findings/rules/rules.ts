/** Every rule there is, by name. A new rule is one new file beside this one and one line here. */

import type { Rule, RuleName } from '../finding.ts';
import { accentUnheard } from './accent-unheard.ts';
import { amplifierNeverOpens } from './amplifier-never-opens.ts';
import { amplifierOverdriven } from './amplifier-overdriven.ts';
import { cableShort } from './cable-short.ts';
import { clips } from './clips.ts';
import { clockMismatch } from './clock-mismatch.ts';
import { cutoffOutOfRange } from './cutoff-out-of-range.ts';
import { dcOnOutput } from './dc-on-output.ts';
import { decayCutShort } from './decay-cut-short.ts';
import { flamTooTight } from './flam-too-tight.ts';
import { gatesMerge } from './gates-merge.ts';
import { ghostSilent } from './ghost-silent.ts';
import { inputOpen } from './input-open.ts';
import { jackDoubled } from './jack-doubled.ts';
import { jackMisnamed } from './jack-misnamed.ts';
import { lengthsDrift } from './lengths-drift.ts';
import { levelMarginal } from './level-marginal.ts';
import { levelTooHigh } from './level-too-high.ts';
import { levelTooLow } from './level-too-low.ts';
import { loadedDown } from './loaded-down.ts';
import { loopUnstable } from './loop-unstable.ts';
import { nothingReachesOutput } from './nothing-reaches-output.ts';
import { offTheDial } from './off-the-dial.ts';
import { outputsJoined } from './outputs-joined.ts';
import { peakNotReached } from './peak-not-reached.ts';
import { pulseTooShort } from './pulse-too-short.ts';
import { rackShort } from './rack-short.ts';
import { resetRace } from './reset-race.ts';
import { signalMismatch } from './signal-mismatch.ts';
import { slowRise } from './slow-rise.ts';
import { staysOn } from './stays-on.ts';
import { swingMismatch } from './swing-mismatch.ts';
import { switchIntoVoltage } from './switch-into-voltage.ts';
import { tailCut } from './tail-cut.ts';
import { timeOutOfRange } from './time-out-of-range.ts';
import { tooQuiet } from './too-quiet.ts';
import { voltageIntoSwitch } from './voltage-into-switch.ts';

export const RULES: readonly Rule[] = [
  accentUnheard,
  amplifierNeverOpens,
  amplifierOverdriven,
  cableShort,
  clips,
  clockMismatch,
  cutoffOutOfRange,
  dcOnOutput,
  decayCutShort,
  flamTooTight,
  gatesMerge,
  ghostSilent,
  inputOpen,
  jackDoubled,
  jackMisnamed,
  lengthsDrift,
  levelMarginal,
  levelTooHigh,
  levelTooLow,
  loadedDown,
  loopUnstable,
  nothingReachesOutput,
  offTheDial,
  outputsJoined,
  peakNotReached,
  pulseTooShort,
  rackShort,
  resetRace,
  signalMismatch,
  slowRise,
  staysOn,
  swingMismatch,
  switchIntoVoltage,
  tailCut,
  timeOutOfRange,
  tooQuiet,
  voltageIntoSwitch,
];

/** The rule of a name, or undefined if there is none. */
export function ruleNamed(name: RuleName): Rule;
export function ruleNamed(name: string): Rule | undefined;
export function ruleNamed(name: string): Rule | undefined {
  return RULES.find((rule) => rule.name === name);
}
