/** A voice that the others drown, and a mix that is softer than any other clip. */

import { stemsOf } from '../../engine/stems.ts';
import { largest, smallest } from '../../modules/dsp/extremes.ts';
import { type JackRef, jackName } from '../../patch/patch.ts';
import type { Context, Finding, Rule } from '../finding.ts';
import type { Rehearsal } from '../rehearsal.ts';
import { within } from '../spoken.ts';
import { foundOrAt } from '../triggers/at-worst.ts';
import { cornersOfVolts, outputJacks } from '../triggers/sound-corners.ts';
import { drivers, placeAtJack } from '../words.ts';

/** LUFS: what is softer is turned up, and the next clip is then far too loud. Common practice, no source. */
const SOFT_MIX = -30;
/** LU under the whole at which nobody hears a voice beside the others. Common practice, no source. */
const DROWNED = 25;
/** LUFS that a mix is brought to: EBU R 128, programme loudness (from memory). */
const USUAL = -23;
/** dBFS; the room that is left above. */
const HIGHEST_PEAK = -1;

export const tooQuiet: Rule = {
  name: 'too-quiet',
  headline: ['patch', 'not everything is loud enough to hear'],
  explanation: {
    what: 'A voice is so far under the mix that nobody will hear it, or all of the mix is very soft.',
    why:
      'Levels in a row multiply: where an attenuator, a low mixer input and an amplifier that is hardly ' +
      'open each leave a tenth, a thousandth comes out. What one hears alone and turned up is gone ' +
      'among louder voices.',
    sum:
      `Loudness in LUFS by ITU-R BS.1770 of the render, and of each voice in it: a voice more than ${DROWNED} LU ` +
      `under the whole, a mix under ${SOFT_MIX} LUFS (common practice).`,
    mend: 'Turn the voice up at its mixer input, or the others down; turn the mix up in front of the output.',
  },

  find(context: Context): readonly Finding[] {
    const jacks = outputJacks(context.patch);
    const softest = (): readonly Context[] => cornersOfVolts(jacks, 'narrow', context);
    return [...foundOrAt(context, softest, softMix), ...drowned(context)];
  },
};

/** Each voice by itself: it may be soft where the others are loud. */
function drowned(context: Context): readonly Finding[] {
  const sure = context.rehearsal() === undefined ? [] : drownedIn(context);
  const voices = stemsOf(context.prepared).map(({ jack }) => jack);
  if (voices.length < 2) return sure;
  const others = (voice: JackRef): readonly JackRef[] => voices.filter((one) => one !== voice);
  const isSure = (voice: JackRef): boolean =>
    sure.some(({ jack }) => jackName(jack as JackRef) === jackName(voice));
  return voices.flatMap((voice) =>
    isSure(voice)
      ? sure.filter(({ jack }) => jackName(jack as JackRef) === jackName(voice))
      : foundOrAt(
          context,
          () =>
            mayDrown(voice, context) ? cornersOfVolts(others(voice), 'wide', context, [voice]) : [],
          (here) =>
            drownedIn(here).filter(({ jack }) => jackName(jack as JackRef) === jackName(voice)),
        ),
  );
}

/** Whether a voice as soft as it may be is drowned by a mix that is as loud as it may be. */
function mayDrown(voice: JackRef, context: Context): boolean {
  const jacks = outputJacks(context.patch);
  const heardAt = (way: 'wide' | 'narrow'): readonly Rehearsal[] =>
    cornersOfVolts(jacks, way, context).flatMap(({ rehearsal }) => rehearsal() ?? []);
  const loudest = largest(heardAt('wide').map(({ loudness }) => loudness));
  const softest = smallest(
    heardAt('narrow').flatMap(({ voices }) =>
      voices.filter(({ jack }) => jackName(jack) === jackName(voice)).map((one) => one.loudness),
    ),
  );
  return loudest - softest > DROWNED;
}

function softMix({ patch, netlist, rehearsal }: Context): readonly Finding[] {
  const heard = rehearsal();
  if (heard === undefined) return [];
  const output = patch.modules.find(({ definition }) => definition.role === 'output');
  const peak = heard.channels.reduce((most, one) => Math.max(most, one.peak), 0);
  const { loudness } = heard;
  // What is silent has another reason.
  if (output === undefined || peak === 0 || loudness >= SOFT_MIX) return [];
  const jack = { module: output.name, jack: 'left' };
  const net = netlist.at(jack) ?? netlist.at({ ...jack, jack: 'right' });
  if (net === undefined) return [];
  const peakDbfs = 20 * Math.log10(peak);
  const room = HIGHEST_PEAK - peakDbfs;
  const more = Math.min(room, Number.isFinite(loudness) ? USUAL - loudness : room);
  return [
    {
      rule: tooQuiet.name,
      severity: 'note',
      message: `the whole is at ${inLufs(loudness)}${span(heard)}, which is very soft: its peak is at ${peakDbfs.toFixed(1)} dBFS.`,
      fix:
        more < 1
          ? 'Let its strokes last longer, or play more of them: its peaks have no room to be louder.'
          : `Turn ${drivers(net)} up by ${Math.floor(more)} dB.`,
      place: placeAtJack(net, jack, patch),
      jack,
      figures: {
        ...(Number.isFinite(loudness) && { loudnessLufs: loudness }),
        loudestDbfs: peakDbfs,
        heardSeconds: heard.seconds,
      },
    },
  ];
}

function drownedIn({ patch, netlist, rehearsal }: Context): readonly Finding[] {
  const heard = rehearsal();
  if (heard === undefined) return [];
  const { voices, loudness: whole } = heard;
  if (voices.length < 2 || !Number.isFinite(whole)) return [];
  return voices.flatMap(({ jack, loudness, peak, isWellHeard }): Finding[] => {
    const under = whole - loudness;
    // A voice that does not play in what was heard may play later; and steady volts are no voice.
    if (isWellHeard || peak === 0 || !(under > DROWNED) || !isSound(jack, patch)) return [];
    const by = Number.isFinite(under) ? `${Math.floor(under)} LU` : 'far';
    return [
      {
        rule: tooQuiet.name,
        severity: 'note',
        message:
          `${jack.module}.${jack.jack} is at ${inLufs(loudness)} in a mix of ${inLufs(whole)}${span(heard)}: ` +
          `${by} under it, where nobody hears it.`,
        fix: `Turn it up where it is mixed, by ${Number.isFinite(under) ? `${Math.ceil(under - DROWNED) + 10} dB or so` : 'a great deal'}.`,
        place: placeAtJack(netlist.at(jack), jack, patch),
        jack,
        figures: {
          wholeLufs: whole,
          ...(Number.isFinite(loudness) && { loudnessLufs: loudness, underLu: under }),
          heardSeconds: heard.seconds,
        },
      },
    ];
  });
}

/** What the loudness covers: not the tail, which a render includes. */
function span(heard: Rehearsal): string {
  return heard.complete ? ' up to its last step' : within(heard);
}

function isSound({ module, jack }: { module: string; jack: string }, patch: Context['patch']) {
  const found = patch.modules.find(({ name }) => name === module);
  const output = found?.jacks.find(({ name }) => name === jack);
  return output?.direction === 'out' && output.signal === 'audio';
}

function inLufs(loudness: number): string {
  return Number.isFinite(loudness) ? `${loudness.toFixed(1)} LUFS` : 'less than -70 LUFS';
}
