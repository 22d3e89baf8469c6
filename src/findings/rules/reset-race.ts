/** A reset and a clock so close together that which of them counts is luck. */

import type { Edit } from '../../patch/edit/edit.ts';
import { formatValue } from '../../patch/units.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { inTime, within } from '../spoken.ts';
import { RATE } from '../triggers/played.ts';
import { lastBy } from '../triggers/pulses.ts';
import { cableInto, drivers, freshName, localName, placeAtJack } from '../words.ts';

export const resetRace: Rule = {
  name: 'reset-race',
  explanation: {
    what: 'A reset and a clock arrive within the time in which the follower settles.',
    why:
      'With an armed reset the clock after it lands on step 1. If both come at once, as from a start ' +
      'pulse and the first clock, one follower takes the reset first and lands on step 1, another ' +
      'takes the clock first and is armed for the next one: a step late for the whole song.',
    sum: 'The time between the two, each when its input notices it, against the follower’s settle time.',
    mend: 'Delay the clock by some milliseconds, or let the reset come well before: a step sequencer also starts armed, and needs no reset at the start.',
  },

  find({ patch, triggers }: Context): readonly Finding[] {
    return patch.modules.flatMap((module): Finding[] => {
      const { settle } = module.settings;
      if (typeof settle !== 'number' || settle <= 0) return [];
      const jack = { module: module.name, jack: 'reset' };
      const reset = triggers.at(jack);
      const clock = triggers.at({ module: module.name, jack: 'clock' });
      if (reset === undefined || clock === undefined) return [];
      const limit = settle * RATE;
      const gaps = reset.noticed.flatMap(({ start }) => {
        const before = lastBy(clock.noticed, (one) => one.start, start);
        const near = [clock.noticed[before], clock.noticed[before + 1]].map((one) =>
          one === undefined ? Number.POSITIVE_INFINITY : Math.abs(one.start - start),
        );
        const gap = Math.min(...near);
        return gap < limit - 1e-6 ? [gap] : [];
      });
      if (gaps.length === 0) return [];
      const closest = Math.min(...gaps) / RATE;
      const span = reset.span.seconds < clock.span.seconds ? reset.span : clock.span;
      return [
        {
          rule: resetRace.name,
          severity: 'caution',
          message:
            `${drivers(reset.net)} resets ${module.name} ${closest === 0 ? 'with a clock' : `${inTime(closest)} from a clock`} of ` +
            `${drivers(clock.net)}, at ${gaps.length} of ${reset.noticed.length} resets${within(span)}; it wants ${inTime(settle)} ` +
            'between them, and which step it lands on is luck.',
          fix:
            module.settings.reset === 'armed'
              ? `Put a delay of ${inTime(delayFor(settle))} in front of ${module.name}.clock, so that the reset comes first, or take the reset away if it only comes at the start.`
              : `Put a delay of ${inTime(delayFor(settle))} in front of ${module.name}.reset.`,
          place: placeAtJack(reset.net, jack, patch),
          jack,
          figures: {
            gapSeconds: closest,
            settleSeconds: settle,
            racingResets: gaps.length,
            resets: reset.noticed.length,
            lookedSeconds: span.seconds,
          },
        },
      ];
    });
  },

  mend({ jack, figures }, { patch, netlist }): readonly Edit[] | undefined {
    const module = patch.modules.find(({ name }) => name === jack?.module);
    if (module === undefined) return undefined;
    // An armed reset is to come before its clock, one that acts at once after it.
    const late = {
      module: module.name,
      jack: module.settings.reset === 'armed' ? 'clock' : 'reset',
    };
    const net = netlist.at(late);
    const cable = net && cableInto(net, late);
    if (cable === undefined) return undefined;
    const name = freshName(`${localName(module.name)}-late`, patch);
    const time = formatValue(delayFor(Number(figures.settleSeconds)), 'time');
    return [
      {
        type: 'add-module',
        file: cable.place.file,
        name,
        text: `{ kind: delay, time: ${time}, length: 5 ms }`,
      },
      {
        type: 'replace-cable',
        place: cable.place,
        texts: [`{from} -> ${name}.trigger`, `${name}.out -> {to}`],
      },
    ];
  },
};

/** s; twice what it needs, 2 ms at least, which nobody hears. */
function delayFor(settle: number): number {
  return Math.max(0.002, 2 * settle);
}
