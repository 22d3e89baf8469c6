/** What `forehear fit` found, as a table and as data. */

import type { Fit, FittedSetting } from '../../fit/fit.ts';
import type { VoiceChannel } from '../../fit/path.ts';
import type { RecordedHits } from '../../fit/recording.ts';
import { isSwitch, type Knob, knobText, movedBy10 } from '../../fit/settings.ts';
import { type KindDistance, OTHER_KIND } from '../../measure/likeness/drum-kind.ts';
import { counted } from '../../patch/text/counted.ts';
import { table, wrapped } from '../table.ts';
import { kindData, kindWords } from './kind-words.ts';
import { metDefects } from './met-defects.ts';

/** A distance above which other settings cannot help, dB. */
export const FAR = 6;

/** If the hit has become quieter by this much, the report says so, dB. */
const QUIETER = 6;
/** Digits of an approximate value. */
const ABOUT = 2;

/** The figures as data. */
export function fitData(
  made: Fit,
  { used, found, chosen, seconds, defects, mends }: RecordedHits,
  file: string,
) {
  return {
    settings: made.settings.map(({ knob, after, riseDb, isDecided, alike, matters, end }) => ({
      setting: knob.path,
      with: knob.twin ?? null,
      before: knobText(knob, knob.before),
      after: knobText(knob, after),
      range: [knobText(knob, knob.low), knobText(knob, knob.high)],
      riseDb,
      decided: isDecided,
      alike: alike && {
        from: knobText(knob, alike.low ?? knob.low),
        to: knobText(knob, alike.high ?? knob.high),
      },
      matters,
      atEnd: end,
    })),
    pairs: made.pairs.map(({ knobs, isSame }) => ({
      settings: knobs.map(({ path }) => path),
      together: isSame ? 'same' : 'opposite',
    })),
    refused: made.refused.map(({ knob, value, concerns }) => ({
      setting: knob.path,
      value: knobText(knob, value),
      findings: concerns.map(({ about, message }) => ({ about, message })),
    })),
    distanceBefore: made.distanceBefore,
    distanceAfter: made.distanceAfter,
    kind: made.kind && { ...kindData(made.kind), isOther: isOtherKind(made) },
    louderDb: made.louderDb,
    file,
    tries: made.tries,
    stopped: made.isStopped,
    recording: {
      ...{ seconds, onsets: found, hitsUsed: used, hit: chosen },
      defects: defects.map(({ kind }) => kind),
      mended: mends ?? null,
    },
  };
}

export interface ToldFit {
  readonly recording: RecordedHits;
  readonly channel: VoiceChannel | undefined;
  readonly place: string;
  /** Whether the settings were chosen here, not asked for. */
  readonly isUsual: boolean;
  readonly wav: string;
  /** Lines on what is left of the difference. */
  readonly left: readonly string[];
}

/** The figures as a table, and remarks. */
export function fitReport(
  made: Fit,
  { recording, channel, place, isUsual, wav, left }: ToldFit,
): string {
  const { settings, distanceBefore, distanceAfter, tries } = made;
  // Settings that were asked for are always shown.
  const shown = settings.filter(({ matters }) => matters || !isUsual);
  const leftOut = settings.filter((setting) => !shown.includes(setting));
  const lines = [
    table([
      ['setting', 'before', 'after', 'moved by 10 %, the distance rises by'],
      ...shown.map((setting) => [
        settingName(setting.knob),
        knobText(setting.knob, setting.knob.before),
        knobText(setting.knob, setting.after),
        made.refused.some(({ knob }) => knob.path === setting.knob.path)
          ? 'kept as it was, see below'
          : sharpness(setting, made.isStopped),
      ]),
    ]),
    '',
    wrapped(
      `The hits differ by ${distanceAfter.toFixed(2)} dB on average, ${distanceBefore.toFixed(2)} dB before (${counted(tries, 'render')}).`,
    ),
    ...changes(made).map(wrapped),
    ...notes(recording, { wav, isUsual, channel }).map(wrapped),
  ];
  if (leftOut.length > 0)
    lines.push(
      wrapped(
        `Left out, since their values make no difference to this hit: ${leftOut.map(({ knob }) => knob.path).join(', ')}.`,
      ),
    );
  if (isOtherKind(made))
    lines.push(
      wrapped(
        `This voice seems to be of another kind of drum than the recording: ${kindWords(made.kind, 3).join('; ')}. Is it the right recording, and the right channel? "forehear fit FOLDER RECORDING.wav" chooses a voice of its kind.`,
      ),
    );
  if (distanceAfter > FAR)
    lines.push(
      wrapped(
        `That is far: with these settings the patch cannot make this sound. Vary others, or give the voice other modules.`,
      ),
    );
  return `${[...lines, ...left].join('\n')}\n${place}`;
}

/**
 * Whether the recording is of another kind of drum than the voice was, and the settings do not reach it: a hat that is
 * tuned down to a kick may be a few dB from it, in the few bands that a kick has, and is no kick.
 */
function isOtherKind(made: Fit): made is Fit & { readonly kind: KindDistance } {
  const { kind, kindAfter, distanceAfter } = made;
  if (kind === null || kind.distance < OTHER_KIND) return false;
  return distanceAfter > FAR || (kindAfter?.distance ?? 0) >= OTHER_KIND;
}

/** With the setting that is moved along with it. */
function settingName({ path, twin }: Knob): string {
  return twin === undefined ? path : `${path}, ${twin}`;
}

function sharpness(setting: FittedSetting, isStopped: boolean): string {
  const { riseDb, isDecided, end, knob, after } = setting;
  if (after === knob.before && (after < knob.low || after > knob.high))
    return `as it was: nothing from ${knobText(knob, knob.low)} to ${knobText(knob, knob.high)} sounds more alike`;
  const at = end === null ? '' : `, at the ${end === 'low' ? 'lower' : 'upper'} end of its range`;
  if (riseDb === null && isDecided === null)
    return `not tried: ${isStopped ? 'the fit was stopped before' : 'the fit itself took all tries'}${at}`;
  const share = isSwitch(knob)
    ? ` if it is ${otherChoices(knob, after)}`
    : knob.isRatio
      ? ''
      : ' (10 % of its range)';
  const rise = `${(riseDb ?? 0).toFixed(2)} dB${share}`;
  if (isDecided) return `${rise}${at}`;
  return isDecided === null
    ? `${rise}; no tries were left for how far it can go${at}`
    : `${alikeWords(setting)}${at}`;
}

function otherChoices(knob: Knob, value: number): string {
  return movedBy10(knob, value)
    .map((one) => knobText(knob, one))
    .join(' or ');
}

/** Which values are as good as the fitted one. */
function alikeWords({ alike, knob, after }: FittedSetting): string {
  if (alike === null)
    return `undecided: 10 %${knob.isRatio ? '' : ' of its range'} makes no difference here`;
  const { low, high } = alike;
  // Not moved for the distance, but to where the recording is likeliest.
  if (low === null && high === null)
    return after === knob.before
      ? 'undecided: anything in its range is as good'
      : 'undecided: anything in its range is as near, and this the likeliest';
  // Rounded, but not past the value itself, which is as good as it is.
  const about = (value: number): number => Number(value.toPrecision(ABOUT));
  const least = low === null ? null : knobText(knob, Math.min(about(low), after));
  const most = high === null ? null : knobText(knob, Math.max(about(high), after));
  if (least === null) return `anything under ${most} is as good`;
  if (most === null) return `anything over ${least} is as good`;
  return `anything from ${least} to ${most} is as good`;
}

/** The values that were refused, and side effects of the fit. */
function changes({ settings, pairs, refused, louderDb }: Fit): string[] {
  const lines = refused.map(
    ({ knob, value, concerns }) =>
      `${knob.path} stays at ${knobText(knob, knob.before)}. With ${knobText(knob, value)} it would sound more alike, but "forehear check" would find: ${concerns[0]?.message}`,
  );
  for (const { knobs, isSame } of pairs) {
    const [one, other] = knobs.map(({ path }) => path);
    lines.push(
      `${one} and ${other} make up for one another: ${isSame ? 'with more of both, or less of both,' : 'with more of one and less of the other'} it sounds as alike.`,
    );
  }
  if (settings.every(({ knob, after }) => after === knob.before))
    lines.push('Nothing was moved: with no other values it sounds more alike without harm.');
  if (louderDb < -QUIETER)
    lines.push(`The hit is ${(-louderDb).toFixed(0)} dB quieter than before.`);
  return lines;
}

function notes(
  { used, found, chosen, seconds, isLonger, isCut, defects, mends }: RecordedHits,
  { wav, isUsual, channel }: Pick<ToldFit, 'wav' | 'isUsual' | 'channel'>,
): string[] {
  const lines: string[] = [];
  if (isUsual)
    lines.push(
      'Varied, since --vary names none: the times, slopes, pitches, cutoffs, q, widths, drives and mixed levels of the voice.',
    );
  const against =
    channel === undefined ? 'the patch as it plays' : `the first hit of ${channel.name} by itself`;
  const first = isLonger ? `, in its first ${seconds.toFixed(0)} s,` : '';
  lines.push(
    found === 1
      ? `The hit of ${wav}${first} against ${against}.`
      : `Hit ${chosen.index + 1} of the ${found} of ${wav}${first} at ${chosen.time.toFixed(3)} s, which has the most time to itself, against ${against}. ${othersWord(used - 1)}`,
  );
  if (isCut) {
    // What goes on steadily sounds like a hit that has not died away.
    const under =
      mends === undefined
        ? defects.find(({ kind }) => kind === 'hum' || kind === 'drift')?.kind
        : undefined;
    const how =
      under === undefined
        ? 'Its hits are cut off before they have died away'
        : `Its hits are cut off before they have died away, or end under its ${under}`;
    lines.push(`${how}: decays are known only as far as they are heard.`);
  }
  return [...lines, ...metDefects(defects, { it: 'The recording', file: wav, mends })];
}

/** How the other hits of the recording were used. */
function othersWord(alike: number): string {
  return alike === 0
    ? 'None of the others is like it, so they are left out.'
    : `The search used it with the ${counted(alike, 'other')} like it; the distance is its own.`;
}
