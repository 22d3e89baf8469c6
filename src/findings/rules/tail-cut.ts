/** The next hit comes while the one before can still be heard. */

import { USUAL_RATE } from '../../engine/usual-rate.ts';
import { dbOfGain } from '../../modules/dsp/math.ts';
import { drivenAmplifiers, gainAt } from '../amplifiers.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { inTime, share, within } from '../spoken.ts';
import { ofEnvelopes } from '../triggers/at-worst.ts';
import { placeAtJack } from '../words.ts';

/** dB; a tail this far down under the next hit is over. */
const OVER = -20;
/** s; closer strokes are a flam, a roll or a clap, and meant to run together. Source: common practice, no source. */
const ONE_GESTURE = 0.05;

export const tailCut: Rule = {
  name: 'tail-cut',
  headline: ['module', 'is cut off by its next hit'],
  explanation: {
    what: 'The next hit comes before the tail of the one before has died away by 20 dB.',
    why:
      'One envelope has one voltage: a new trigger starts its attack from whatever is left, and the ' +
      'tail that was sounding is gone. Close hits then sound shorter, and the attack softer.',
    sum:
      'Level at the next trigger, by the envelope’s closed form and the amplifier’s law, against the ' +
      'level at the peak: 20 log10 of the ratio of gains.',
    mend: 'Shorten decay and release, or leave it: many hats are meant to do just this.',
  },

  find(context: Context): readonly Finding[] {
    const amplifiers = drivenAmplifiers(context);
    return ofEnvelopes(context, ({ module, shape, train, hits }, { patch }): Finding[] => {
      const driven = amplifiers.find(({ envelope }) => envelope?.name === module.name);
      if (driven === undefined) return [];
      const gain = (volts: number): number => gainAt(driven.module, volts * driven.share).gain;
      const full = gain(shape.peak);
      let worst = Number.NEGATIVE_INFINITY;
      let gap = Number.POSITIVE_INFINITY;
      let cut = 0;
      hits.forEach(({ top, atNext, sample }, index) => {
        // A hit that never got loud is another finding.
        if (atNext === undefined || gain(top) === 0 || full === 0) return;
        const time = ((hits[index + 1]?.sample ?? sample) - sample) / USUAL_RATE;
        const level = dbOfGain(gain(atNext) / full);
        if (level <= OVER || time < ONE_GESTURE) return;
        cut += 1;
        if (level > worst) worst = level;
        gap = Math.min(gap, time);
      });
      if (cut === 0) return [];
      const { net, span } = train;
      const jack = { module: module.name, jack: 'trigger' };
      return [
        {
          rule: tailCut.name,
          severity: 'note',
          message:
            `the tail of ${module.name} is cut off by the next hit at ${share(cut, hits.length, 'hit')}` +
            `${within(span)}: ${inTime(gap)} on, it is only ${Number((-worst).toFixed(1))} dB down.`,
          fix: `Shorten the decay and release of ${module.name} if that is not wanted.`,
          place: placeAtJack(net, jack, patch),
          jack,
          figures: {
            levelDb: worst,
            gapSeconds: gap,
            cutHits: cut,
            hits: hits.length,
            lookedSeconds: span.seconds,
          },
        },
      ];
    });
  },
};
