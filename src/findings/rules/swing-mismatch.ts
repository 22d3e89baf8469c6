/** A follower on a straight clock beside a pattern that swings, or the other way round. */

import type { Net } from '../../electrical/nets.ts';
import { USUAL_RATE } from '../../engine/usual-rate.ts';
import type { Rate } from '../../modules/definition.ts';
import type { JackRef, PatchModule } from '../../patch/patch.ts';
import { CLOCK_IN, FOLLOWED, isFollowing, rhythmSettings } from '../../timing/rhythm.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { inTime, share, within } from '../spoken.ts';
import { foundOrAt } from '../triggers/at-worst.ts';
import { type PatternPlaying, playingsOf, rhythmOf } from '../triggers/beats.ts';
import { cornersAt } from '../triggers/corners.ts';
import { followedPlay, type PlayedStroke } from '../triggers/followed-play.ts';
import {
  APART,
  isUneven,
  offStepsAfterPulses,
  offStepsApart,
  stepOf,
  strokesPlayed,
} from '../triggers/swing-apart.ts';
import type { Train } from '../triggers/triggers.ts';
import { distinct, drivers, inPercent, placeAtJack } from '../words.ts';

export const swingMismatch: Rule = {
  name: 'swing-mismatch',
  headline: ['module', 'does not swing along'],
  explanation: {
    what: 'The clock is straight and the pattern swings, so the follower and the drums part at every off-step.',
    why:
      'A clock per quarter divides the quarter evenly, whatever the swing. A clock per step comes ' +
      'with each step, late ones too, but knows nothing of a swing that one line has of its own. A ' +
      'rhythm that follows pulses swings by itself between them: after straight pulses it needs the ' +
      'swing of the other, after pulses that swing none, or it swings twice.',
    sum: 'An off-step of a pair comes at swing x pair, a straight clock at half of it: (swing - 50 %) x pair apart.',
    mend: 'Set the clock to 1 per step, or the swing to 50 %. Of a rhythm that follows straight pulses, set the swing of the one that it follows.',
  },

  find(context: Context): readonly Finding[] {
    const rhythms = context.patch.modules.filter(({ definition }) => definition.role === 'score');
    return rhythms.flatMap(({ name }) => {
      const at = (here: Context): PatchModule | undefined =>
        here.patch.modules.find((one) => one.name === name);
      const module = at(context) as PatchModule;
      // What a rhythm sends by its own time no fact of a jack moves; what reaches a follower they do.
      if (!isFollowing(context.patch, module)) return ofClock(module, context);
      const followed = (find: typeof ofClock): readonly Finding[] =>
        foundOrAt(
          context,
          () =>
            cornersOf(
              FOLLOWED.map((jack) => ({ module: name, jack })),
              context,
            ),
          (here) => find(at(here) as PatchModule, here),
        );
      return [...followed(ofClock), ...followed(ofFollower)];
    });
  },
};

/** The corners at which what arrives at some inputs is as short as may be, or as long. */
function* cornersOf(jacks: readonly JackRef[], context: Context): Iterable<Context> {
  for (const jack of jacks)
    for (const way of ['short', 'long'] as const) yield* cornersAt(jack, way, context);
}

/** How far a rhythm's clock is from its own off-steps, where something follows that clock. */
function ofClock(module: PatchModule, context: Context): readonly Finding[] {
  const { patch, netlist, triggers } = context;
  const jack = { module: module.name, jack: 'clock' };
  const net = netlist.at(jack);
  // A rhythm that follows it may swing by itself: `ofFollower` reports that.
  if (net === undefined || !isTaken(net, context)) return [];
  if (isFollowing(patch, module)) return ofFollowersClock(module, net, context);
  const { pulses, seconds } = triggers.playedBy(module).part('clock');
  const clocks = pulses.map(({ start }) => start / USUAL_RATE);
  const off = offSteps(module, seconds, clocks);
  return off.apart === 0 ? [] : [clockFinding(module, net, off, context)];
}

/** Whether pulses reach anything but rhythms that follow them, directly or counted by others on their way. */
function isTaken(net: Net, { patch, netlist }: Context): boolean {
  const seen = new Set<Net>([net]);
  // A set that grows meanwhile is walked to its end.
  for (const one of seen)
    for (const { module, jack } of one.inputs) {
      if (isFollowing(patch, module)) continue;
      const passed = module.jacks.flatMap(({ name, direction }) => {
        const next = netlist.at({ module: module.name, jack: name });
        if (direction !== 'out' || next === undefined) return [];
        const law = module.definition.gates?.(name);
        return law === undefined || law.inputs.includes(jack.name) ? [{ law, next }] : [];
      });
      // What it makes of them otherwise, such as a pitch, comes at them too.
      if (passed.length === 0 || passed.some(({ law }) => law === undefined)) return true;
      for (const { next } of passed) seen.add(next);
    }
  return false;
}

/** The same for a rhythm that follows pulses, which tell where its steps are. */
function ofFollowersClock(module: PatchModule, net: Net, context: Context): readonly Finding[] {
  const settings = rhythmSettings(module.settings);
  const { clock, swing } = feelOf(module);
  const [only, ...others] = new Set(settings.patterns.map((one) => one.stepsPerQuarter));
  const hasAll = clock.per === 'step' || (only !== undefined && clock.count % only === 0);
  const play = followedPlay(module, context.patch, context.triggers);
  const train = context.triggers.at({ module: module.name, jack: CLOCK_IN });
  const step = train && stepOf(module, train);
  if (!hasAll || others.length > 0 || play === undefined || step === undefined) return [];
  const strokes = play.strokes.filter(({ cause }) => cause === 'hit' || cause === 'ghost');
  // Of several clocks in a step the first is that of the step.
  const clocks = play.clocks.filter((one, i) => one.step !== play.clocks[i - 1]?.step);
  const { all, apart, most } = offStepsApart(clocks, strokes, step);
  if (apart === 0) return [];
  return [clockFinding(module, net, { all, apart, most: Math.abs(most), swing }, context)];
}

function clockFinding(module: PatchModule, net: Net, off: OffSteps, { patch }: Context): Finding {
  const jack = { module: module.name, jack: 'clock' };
  return {
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
      swingShare: off.swing,
    },
  };
}

/** How far a rhythm that follows another is from that one, where both play. */
function ofFollower(module: PatchModule, context: Context): readonly Finding[] {
  const { patch, netlist, triggers } = context;
  const jack = { module: module.name, jack: CLOCK_IN };
  const train = triggers.at(jack);
  const leader = train && rhythmOf(train.net, netlist, patch, module);
  const step = train && stepOf(module, train);
  if (train === undefined || leader === undefined || step === undefined) return [];
  const [led, own] = [leader, module].map((one) => strokesPlayed(one, context));
  if (led === undefined || own === undefined) return [];
  const { all, apart, most } = offStepsApart(led, own, step);
  if (apart === 0) return swungTwice(module, train, own, context);
  const [theirs, its] = distinct(feelOf(leader).swing, feelOf(module).swing, inPercent);
  const uneven = isUneven(train);
  const from = drivers(train.net);
  const [by] = train.net.outputs;
  const isDirect =
    by?.module === leader && by.jack.name === 'clock' && feelOf(leader).swing !== 0.5;
  return [
    {
      rule: swingMismatch.name,
      severity: 'note',
      message:
        `${module.name} comes up to ${inTime(Math.abs(most))} ${most < 0 ? 'before' : 'after'} ${leader.name} ` +
        `at ${share(apart, all, 'off-step')} that both play${within(train.span)}: the pulses of ${from} ` +
        `${uneven ? 'swing' : 'are straight'}, ${module.name} swings them by ${its}, and ${leader.name} has ${theirs}.`,
      fix: uneven
        ? `Set the swing of ${module.name} to 50 %: its pulses swing already.`
        : `Set the swing of ${module.name} to ${theirs}${isDirect ? `, or let ${from} come and ${module.name} follow 1 per step, and ${module.name} swing by 50 %` : ''}.`,
      place: module.settingPlaces.get('swing') ?? placeAtJack(train.net, jack, patch),
      jack,
      figures: {
        apartSeconds: Math.abs(most),
        offSteps: all,
        apartSteps: apart,
        swingShare: feelOf(leader).swing,
        lookedSeconds: train.span.seconds,
      },
    },
  ];
}

/** A rhythm that adds swing to pulses that swing already, where the other rhythm plays no hits to compare with. */
function swungTwice(
  module: PatchModule,
  train: Train,
  own: readonly PlayedStroke[],
  { patch }: Context,
): readonly Finding[] {
  const { count, per } = rhythmSettings(module.settings).follows;
  if (count !== 1 || per !== 'step' || !isUneven(train)) return [];
  const { all, apart, most } = offStepsAfterPulses(train, own);
  if (apart === 0) return [];
  const jack = { module: module.name, jack: CLOCK_IN };
  const { swing } = feelOf(module);
  return [
    {
      rule: swingMismatch.name,
      severity: 'note',
      message:
        `The pulses of ${drivers(train.net)} swing already, and ${module.name} swings them by ${inPercent(swing)} again: ` +
        `it comes up to ${inTime(most)} after its pulse at ${share(apart, all, 'off-step')}${within(train.span)}.`,
      fix: `Set the swing of ${module.name} to 50 %: its pulses swing already.`,
      place: module.settingPlaces.get('swing') ?? placeAtJack(train.net, jack, patch),
      jack,
      figures: {
        apartSeconds: most,
        offSteps: all,
        apartSteps: apart,
        swingShare: swing,
        lookedSeconds: train.span.seconds,
      },
    },
  ];
}

/** Swing and clock of a rhythm, as its song begins. */
function feelOf({ settings }: PatchModule): { readonly swing: number; readonly clock: Rate } {
  const { song, patterns, swing, clock } = rhythmSettings(settings);
  const [entry] = song;
  const pattern = entry && patterns[entry.pattern];
  return {
    swing: entry?.swing ?? pattern?.swing ?? swing,
    clock: entry?.clock ?? pattern?.clock ?? clock,
  };
}

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
