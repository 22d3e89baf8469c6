/** A finding in a few words, for where there is room for one line; its message has the numbers. */

import { jackName } from '../patch/patch.ts';
import type { Finding, RuleName } from './finding.ts';
import { findingJacks } from './gathered.ts';

/** What happens, and to what: the jack, its module or the patch. */
const WORDS: Readonly<Record<RuleName, readonly [of: 'jack' | 'module' | 'patch', what: string]>> =
  {
    'accent-unheard': ['jack', 'carries an accent that nothing hears'],
    'too-quiet': ['patch', 'not all is loud enough to hear'],
    'amplifier-never-opens': ['module', 'hardly opens'],
    'amplifier-overdriven': ['module', 'is overdriven'],
    'cable-short': ['patch', 'the rack has too few cables'],
    clips: ['jack', 'clips'],
    'clock-mismatch': ['module', 'gets another clock than it expects'],
    'cutoff-out-of-range': ['module', 'goes beyond its range'],
    'dc-on-output': ['jack', 'has steady volts on it'],
    'decay-cut-short': ['module', 'is cut short by its gate'],
    'flam-too-tight': ['module', 'takes two strokes for one'],
    'gates-merge': ['jack', 'misses hits that run together'],
    'input-open': ['jack', 'gets nothing'],
    'jack-doubled': ['jack', 'has more than one plug'],
    'jack-misnamed': ['jack', 'is not what the rack names'],
    'lengths-drift': ['patch', 'lengths drift apart'],
    'level-marginal': ['jack', 'fires with little to spare'],
    'level-too-high': ['jack', 'gets more than it stands'],
    'level-too-low': ['jack', 'never fires'],
    'loaded-down': ['jack', 'is loaded down'],
    'loop-unstable': ['jack', 'grows to the supply rail'],
    'nothing-reaches-output': ['patch', 'not all reaches the output'],
    'outputs-joined': ['jack', 'is joined to another output'],
    'peak-not-reached': ['module', 'does not reach its peak'],
    'pulse-too-short': ['jack', 'gets pulses too short for it'],
    'rack-short': ['patch', 'the rack has too few modules'],
    'reset-race': ['module', 'is reset too close to a clock'],
    'signal-mismatch': ['jack', 'gets another kind of signal'],
    'slow-rise': ['jack', 'goes on late'],
    'stays-on': ['jack', 'fires once and never again'],
    'swing-mismatch': ['module', 'does not swing along'],
    'switch-into-voltage': ['jack', 'waits for a voltage'],
    'tail-cut': ['module', 'is cut off by its next hit'],
    'time-out-of-range': ['module', 'is driven beyond its times'],
    'voltage-into-switch': ['jack', 'waits for a switch trigger'],
  };

/** As `shape.trigger never fires`, or `shape.trigger never fires, and 2 more`. */
export function headlineOf(finding: Finding): string {
  const [of, what] = WORDS[finding.rule];
  const [first, ...others] = findingJacks(finding);
  if (first === undefined || of === 'patch') return what;
  const name = of === 'jack' ? jackName(first) : first.module;
  return `${name} ${what}${others.length > 0 ? `, and ${others.length} more` : ''}`;
}
