/** A gate that ends inside the decay: what is heard of the tail is the release. */

import type { Course } from '../../modules/definition.ts';
import type { Edit } from '../../patch/edit/edit.ts';
import { settingText } from '../../patch/setting-text.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { onDial, setTo } from '../mend/set-to.ts';
import { inTime, share, within } from '../spoken.ts';
import { ofEnvelopes } from '../triggers/at-worst.ts';
import { levelAt } from '../triggers/course.ts';
import { inPercent, placeAtJack } from '../words.ts';

/** Share of the peak at which a tail is taken to be over: 20 dB down. */
const OVER = 0.1;
/** Tails that differ by less than this share sound alike. Source: common practice, no source. */
const ALIKE = 0.1;
/** From this ratio on the tail is not the one that was asked for. */
const ANOTHER = 2;

export const decayCutShort: Rule = {
  name: 'decay-cut-short',
  headline: ['module', 'is cut short by its gate'],
  explanation: {
    what: 'The gate ends inside the decay, so the release sets the tail, and the two differ.',
    why:
      'In gate mode the release starts the moment the gate ends. A drum’s gate is some milliseconds ' +
      'long and its decay some hundreds, so the decay setting is hardly heard: turning it changes ' +
      'nothing, turning the release changes everything.',
    sum: 'Time from the peak to a tenth of it, 2.3 time constants of whichever stage is on, against the same with the gate held; tau = time / 5.',
    mend: 'Set decay and release alike, or set the envelope to mode: trigger, where the decay always runs.',
  },

  find(context: Context): readonly Finding[] {
    return ofEnvelopes(context, ({ module, shape, train, hits }, { patch }): Finding[] => {
      // A decay that the file does not ask for is not missed.
      const place = module.settingPlaces.get('decay');
      if (!shape.gated || place === undefined || shape.sustain >= OVER * shape.peak) return [];
      const cut = hits.filter(({ peaks, held, rise }) => peaks && held < rise + shape.decay);
      const [shortest] = cut.toSorted((a, b) => a.held - b.held);
      if (shortest === undefined) return [];
      const meant = tailOf(shape, Number.POSITIVE_INFINITY);
      const heard = tailOf(shape, shortest.held - shortest.rise);
      const ratio = heard / meant;
      if (Math.abs(ratio - 1) < ALIKE) return [];
      const { net, span } = train;
      const jack = { module: module.name, jack: 'trigger' };
      const another = ratio >= ANOTHER || ratio <= 1 / ANOTHER;
      return [
        {
          rule: decayCutShort.name,
          severity: another ? 'caution' : 'note',
          message:
            `the gate ends ${inTime(Math.max(0, shortest.held - shortest.rise))} into the decay of ${module.name} ` +
            `(${inTime(shape.decay)}) at ${share(cut.length, hits.length, 'hit')}${within(span)}, and the release ` +
            `(${inTime(shape.release)}) sets the tail: it is 20 dB down after ${inTime(heard)}, not ` +
            `${inTime(meant)}, ${inPercent(Math.abs(ratio - 1))} ${ratio < 1 ? 'shorter' : 'longer'}.`,
          fix: `Set release to ${settingText(module, 'decay')}${onDial(module, 'release', module.settings.decay, patch)} as well, or set ${module.name} to mode: trigger.`,
          place: place ?? placeAtJack(net, jack, patch),
          jack,
          figures: {
            decaySeconds: shape.decay,
            releaseSeconds: shape.release,
            meantTailSeconds: meant,
            heardTailSeconds: heard,
            cutHits: cut.length,
            hits: hits.length,
            lookedSeconds: span.seconds,
          },
        },
      ];
    });
  },

  mend({ jack }, { patch }): readonly Edit[] | undefined {
    const module = patch.modules.find(({ name }) => name === jack?.module);
    return (
      module && setTo(module, 'release', module.settings.decay, patch, settingText(module, 'decay'))
    );
  },
};

/** s from the peak until a tenth of it is left, the gate lasting `held` from there. */
function tailOf(shape: Course, held: number): number {
  let low = 0;
  // By the end of both stages it is at 0 V, or at a sustain under the tenth.
  let high = Math.min(held, shape.decay) + shape.decay + shape.release + 1e-6;
  for (let i = 0; i < 50; i++) {
    const middle = 0.5 * (low + high);
    if (levelAt(shape, shape.peak, held, middle) > OVER * shape.peak) low = middle;
    else high = middle;
  }
  return high;
}
