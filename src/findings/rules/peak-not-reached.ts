/** A gate that ends, or another trigger that comes, before the attack has got to the peak. */

import { USUAL_RATE } from '../../engine/usual-rate.ts';
import type { Edit } from '../../patch/edit/edit.ts';
import { settingText } from '../../patch/setting-text.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import { fixedBehind } from '../mend/rhythm-gate.ts';
import { setTo } from '../mend/set-to.ts';
import { inTime, share, within } from '../spoken.ts';
import { ofEnvelopes } from '../triggers/at-worst.ts';
import { inVolts, placeAtJack } from '../words.ts';

/** Share of the peak that counts as all of it: a linear amplifier is 0.09 dB short there. */
const ENOUGH = 0.99;

export const peakNotReached: Rule = {
  name: 'peak-not-reached',
  headline: ['module', 'does not reach its peak'],
  explanation: {
    what: 'The gate ends before the attack does, so the envelope never gets to its peak.',
    why:
      'In gate mode the release starts when the gate ends, wherever the attack has got to by then. ' +
      'The input also takes its shortest pulse before it answers, and the attack has that much less.',
    sum:
      'V = 1.5 P + (V0 - 1.5 P) exp(-t / tau), tau = attack / ln 3, t the length of the gate less the ' +
      'shortest pulse that the input notices. RC charge: Horowitz & Hill, The Art of Electronics, ' +
      '1.4.2 (from memory).',
    mend: 'Lengthen the gate, shorten the attack, or set the envelope to mode: trigger.',
  },

  find(context: Context): readonly Finding[] {
    return ofEnvelopes(context, ({ module, shape, train, hits }, { patch, netlist }): Finding[] => {
      // In trigger mode only the next hit can cut it off; that of a flam has a rule of its own.
      const tight = new Set(
        (train.strokes ?? []).flatMap((one) =>
          one.tight ? (train.pulses[one.pulse ?? -1]?.start ?? []) : [],
        ),
      );
      const isFlam = (index: number): boolean =>
        tight.has((hits[index + 1]?.sample ?? Number.NaN) - train.needed + 1);
      const low = hits.filter(
        ({ top }, index) => top < ENOUGH * shape.peak && (shape.gated || !isFlam(index)),
      );
      const [first] = low;
      if (first === undefined) return [];
      const least = low.reduce((worst, hit) => (hit.top < worst.top ? hit : worst), first);
      const { net, span, needed } = train;
      const jack = { module: module.name, jack: 'trigger' };
      const gated = shape.gated && least.held < least.rise;
      const latency = (needed - 1) / USUAL_RATE;
      const gate = least.held + latency;
      const wanted = least.rise + latency;
      const why = gated
        ? `its gate lasts ${inTime(gate)}, of which it has ${inTime(least.held)}`
        : 'the next trigger comes before that';
      return [
        {
          rule: peakNotReached.name,
          severity: 'caution',
          message:
            `${module.name} gets to ${inVolts(least.top)} of ${settingText(module, 'peak')} at ` +
            `${share(low.length, hits.length, 'hit')}${within(span)}: the attack takes ` +
            `${inTime(least.rise)}, and ${why}.`,
          fix: !gated
            ? `Shorten the attack of ${module.name}.`
            : fixedBehind(net, netlist) !== undefined
              ? `Shorten the attack, or set ${module.name} to mode: trigger: no setting lengthens its gate.`
              : `Lengthen the gate to ${inTime(wanted)}, shorten the attack, or set ${module.name} to mode: trigger.`,
          place: module.settingPlaces.get('attack') ?? placeAtJack(net, jack, patch),
          jack,
          figures: {
            topVolts: least.top,
            peakVolts: shape.peak,
            gateSeconds: gate,
            attackSeconds: least.rise,
            lowHits: low.length,
            hits: hits.length,
            lookedSeconds: span.seconds,
          },
        },
      ];
    });
  },

  mend({ jack }, { patch }): readonly Edit[] | undefined {
    const module = patch.modules.find(({ name }) => name === jack?.module);
    return module?.settings.mode === 'gate' ? setTo(module, 'mode', 'trigger', patch) : undefined;
  },
};
