/** What `forehear fit` found, as a table and as data. */

import type { Fit, FittedSetting } from '../../fit/fit.ts';
import type { VoiceChannel } from '../../fit/path.ts';
import type { RecordedHits } from '../../fit/recording.ts';
import { textOf } from '../../fit/settings.ts';
import { counted } from '../../patch/text/counted.ts';
import { table, wrapped } from '../table.ts';

/** A distance that is none of settings any more, dB. */
export const FAR = 6;

/** The figures as data. */
export function fitData(made: Fit, { used, found, seconds }: RecordedHits, file: string) {
  return {
    settings: made.settings.map(({ knob, after, riseDb, isDecided, end }) => ({
      setting: knob.path,
      before: textOf(knob, knob.before),
      after: textOf(knob, after),
      range: [textOf(knob, knob.low), textOf(knob, knob.high)],
      riseDb,
      decided: isDecided,
      atEnd: end,
    })),
    distanceBefore: made.distanceBefore,
    distanceAfter: made.distanceAfter,
    file,
    tries: made.tries,
    stopped: made.isStopped,
    recording: { seconds, onsets: found, hitsUsed: used },
  };
}

export interface Told {
  readonly recording: RecordedHits;
  readonly channel: VoiceChannel | undefined;
  readonly place: string;
  /** Whether the settings were chosen here, not asked for. */
  readonly isUsual: boolean;
  readonly wav: string;
}

/** The figures as a table, and what else is worth knowing. */
export function fitReport(made: Fit, { recording, channel, place, isUsual, wav }: Told): string {
  const { settings, distanceBefore, distanceAfter, tries } = made;
  const lines = [
    table([
      ['setting', 'before', 'after', 'moved by 10 %, the distance rises by'],
      ...settings.map((setting) => [
        setting.knob.path,
        textOf(setting.knob, setting.knob.before),
        textOf(setting.knob, setting.after),
        sharpness(setting),
      ]),
    ]),
    '',
    wrapped(
      `Bands over time differ by ${distanceAfter.toFixed(2)} dB on average, ${distanceBefore.toFixed(2)} dB before (${counted(tries, 'render')}).`,
    ),
    ...notes(recording, { wav, isUsual, channel }).map(wrapped),
  ];
  if (distanceAfter > FAR)
    lines.push(
      wrapped(
        `That is far: with these settings the patch cannot make this sound. Vary others, or give the voice other modules.`,
      ),
    );
  return `${lines.join('\n')}\n${place}`;
}

function sharpness({ riseDb, isDecided, end, knob }: FittedSetting): string {
  const at = end === null ? '' : `, at the ${end === 'low' ? 'lower' : 'upper'} end of its range`;
  if (riseDb === null) return `not found out${at}`;
  if (isDecided) return `${riseDb.toFixed(2)} dB${at}${knob.isRatio ? '' : ' (10 % of its range)'}`;
  return `undecided: 10 % makes no difference here${at}`;
}

function notes(
  { used, found, seconds, isLonger, isClipped, isCut }: RecordedHits,
  { wav, isUsual, channel }: Pick<Told, 'wav' | 'isUsual' | 'channel'>,
): string[] {
  const lines: string[] = [];
  if (isUsual)
    lines.push(
      'Varied, since --vary names none: the times of the envelopes, the cutoffs and the decays of the voice.',
    );
  lines.push(
    `${used === found ? hitsWord(found) : `${used} of ${hitsWord(found)}`} of ${wav}${isLonger ? `, in its first ${seconds.toFixed(0)} s,` : ''} against ${channel === undefined ? 'the patch as it plays' : `single hits of ${channel.name}`}.`,
  );
  if (isClipped)
    lines.push('The recording is clipped: its attacks and levels are not to be trusted.');
  if (isCut)
    lines.push(
      'Its hits are cut off before they have died away: decays are known only as far as they are heard.',
    );
  return lines;
}

function hitsWord(count: number): string {
  return counted(count, 'hit');
}
