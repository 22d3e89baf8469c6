/** A follower on a straight clock beside a pattern that swings, or the other way round. */

import { USUAL_RATE } from '../../engine/usual-rate.ts';
import type { PatchModule } from '../../patch/patch.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { inTime, share } from '../spoken.ts';
import { type PatternPlaying, playingsOf } from '../triggers/beats.ts';
import { inPercent, placeAtJack } from '../words.ts';

/** s; two hits further apart than this are heard as two. Source: common practice, no source. */
const APART = 0.005;

export const swingMismatch: Rule = {
  name: 'swing-mismatch',
  explanation: {
    what: 'The clock is straight and the pattern swings, so the follower and the drums part at every off-step.',
    why:
      'A clock per quarter divides the quarter evenly, whatever the swing. A clock per step comes ' +
      'with each step, late ones too, but knows nothing of a swing that one line has of its own.',
    sum: 'An off-step of a pair comes at swing x pair, a straight clock at half of it: (swing - 50 %) x pair apart.',
    mend: 'Set the clock to 1 per step, or the swing to 50 %.',
  },

  find({ patch, netlist, triggers }: Context): readonly Finding[] {
    return patch.modules.flatMap((module): Finding[] => {
      if (module.definition.role !== 'score') return [];
      const jack = { module: module.name, jack: 'clock' };
      const net = netlist.at(jack);
      const [input] = net?.inputs ?? [];
      if (net === undefined || input === undefined) return [];
      const { pulses, seconds } = triggers.playedBy(module).part('clock');
      const clocks = pulses.map(({ start }) => start / USUAL_RATE);
      const off = offSteps(module, seconds, clocks);
      if (off.apart === 0) return [];
      return [
        {
          rule: swingMismatch.name,
          severity: 'note',
          message:
            `${module.name}.clock comes ${inTime(off.most)} from the swung steps (swing ${inPercent(off.swing)}) ` +
            `at ${share(off.apart, off.all, 'off-step')} that have a hit: what follows it parts from the drums there.`,
          fix: `Set the clock of ${module.name} to 1 per step, or the swing to 50 %.`,
          place: module.settingPlaces.get('clock') ?? placeAtJack(net, jack, patch),
          jack,
          figures: {
            apartSeconds: off.most,
            offSteps: off.all,
            apartSteps: off.apart,
            swing: off.swing,
          },
        },
      ];
    });
  },
};

interface OffSteps {
  /** Off-steps with a hit, and those of them that a clock misses. */
  all: number;
  apart: number;
  /** s; the most that a clock is from its off-step. */
  most: number;
  swing: number;
}

/** Compares the clocks with the off-steps that have a hit. A step that no clock means is left out. */
function offSteps(module: PatchModule, seconds: number, clocks: readonly number[]): OffSteps {
  const sum: OffSteps = { all: 0, apart: 0, most: 0, swing: 0.5 };
  for (const playing of playingsOf(module, seconds)) {
    for (const { time, straight, clocked, swing } of hitsOffBeat(playing)) {
      // Where the clock of this step is, by its own swing.
      const clock = nearest(clocks, clocked);
      if (clock === undefined || Math.abs(clock - clocked) > Math.min(0.001, straight / 8))
        continue;
      sum.all += 1;
      const apart = Math.abs(clock - time);
      if (apart <= APART) continue;
      sum.apart += 1;
      if (apart > sum.most) {
        sum.most = apart;
        sum.swing = swing;
      }
    }
  }
  return sum;
}

interface OffHit {
  /** s at which it comes, and at which the clock for it would. */
  readonly time: number;
  readonly clocked: number;
  /** s; length of a straight step. */
  readonly straight: number;
  readonly swing: number;
}

/** The off-steps of a playing at which some line has a hit, for each swing that there is. */
function hitsOffBeat({ groove, start, end, step, sinceChange }: PatternPlaying): readonly OffHit[] {
  const { pattern, swing, clock } = groove;
  const hits = new Map<string, OffHit>();
  for (const line of pattern.lines) {
    const { steps } = line;
    const own = line.swing ?? swing;
    if (steps.length === 0) continue;
    for (let k = 1; k < pattern.length; k += 2) {
      if (!steps[(sinceChange + k) % steps.length]?.strokes) continue;
      const pair = start + (k - 1) * step;
      const time = pair + 2 * own * step;
      const clocked = pair + 2 * (clock.per === 'step' ? swing : 0.5) * step;
      if (time < end) hits.set(`${k} ${own}`, { time, clocked, straight: step, swing: own });
    }
  }
  return [...hits.values()];
}

function nearest(times: readonly number[], time: number): number | undefined {
  let low = 0;
  let high = times.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((times[middle] as number) < time) low = middle + 1;
    else high = middle;
  }
  const [before, after] = [times[low - 1], times[low]];
  if (before === undefined || after === undefined) return before ?? after;
  return time - before < after - time ? before : after;
}
