/** Moves settings of a patch until its hit sounds like the hit of a recording. */

import type { KindDistance } from '../measure/likeness/drum-kind.ts';
import { smallest } from '../modules/dsp/extremes.ts';
import { KINDS, type KindsOption } from '../modules/kinds.ts';
import type { Patch } from '../patch/patch.ts';
import { type PatchTexts, readTexts, withText } from '../patch/texts.ts';
import { type Descent, descend } from './descend.ts';
import { explore } from './explore.ts';
import { type ChanceRange, chanceRange, DECIDED, flatSide } from './flat.ts';
import {
  type ByChance,
  chanceAt,
  chanceTries,
  comeLikelier,
  likelyTries,
  NO_CHANCE,
  STATED_ERRORS,
  type ValuedSearch,
} from './likely.ts';
import { type VoiceChannel, voiceChannels } from './path.ts';
import type { RecordedHits } from './recording.ts';
import { type BestPlace, climb, polish } from './search.ts';
import {
  boundsOf,
  coordinateOf,
  FitError,
  isSwitch,
  type Knob,
  knobValue,
  movedBy,
  movedBy10,
} from './settings.ts';
import {
  type Concern,
  comeNearer,
  giveBack,
  giveBackHarm,
  movedAxes,
  type Refused,
  type SettleOptions,
} from './settle.ts';
import { type Shortfall, shortfallsOf } from './shortfall.ts';
import { moveByMeasures, relocate } from './starts.ts';
import { type SecondThread, Tries } from './tries.ts';
import { isSteady } from './whittle.ts';
import { withValues } from './write.ts';

export interface FitRequest extends KindsOption {
  readonly written: PatchTexts;
  readonly recording: RecordedHits;
  readonly channel: VoiceChannel | undefined;
  readonly knobs: readonly Knob[];
  /** The most renders. */
  readonly tries: number;
  /** Whether levels are made alike before they are compared. */
  readonly isLevelled: boolean;
  /** Finds what is wrong with a patch: the fitted patch has no concern that the patch did not have. */
  readonly concernsOf: (patch: Patch) => readonly Concern[];
  readonly onProgress: (done: number, total: number) => void;
  /** Renders at the same time, of the built-in kinds alone; the result is the same without it. */
  readonly second?: SecondThread | undefined;
  /** Called between two renders, to let other work run. */
  readonly breathe: () => Promise<void>;
  /** Once true, the fit ends with the best so far. */
  readonly isStopped: () => boolean;
}

export interface FittedSetting {
  readonly knob: Knob;
  readonly after: number;
  /**
   * By how many dB the distance rises if the setting is moved by 10 %, the easier way; for one that
   * is not a ratio, by 10 % of its range. Null if not found out.
   */
  readonly riseDb: number | null;
  /** Whether the recording decides it to 10 %, of few settings also whatever its noise; null if that was not found out. */
  readonly isDecided: boolean | null;
  /**
   * The values that the recording cannot tell apart, where 10 % makes no difference, or none that is more than
   * chance; a bound of null is the end of the range. The whole is null if it was not found out.
   */
  readonly alike: { readonly low: number | null; readonly high: number | null } | null;
  /** Whether any value of its range makes a difference; true if that was not found out. */
  readonly matters: boolean;
  /** Which end of its range it came to, if it did. */
  readonly end: 'low' | 'high' | null;
}

export interface Fit {
  readonly settings: readonly FittedSetting[];
  /** The new text of the patch's file. */
  readonly text: string;
  readonly distanceBefore: number;
  /** The distance of the patch in `text`, read again; never more than before. */
  readonly distanceAfter: number;
  /** How far the voice as it was is from the recording's kind of drum; null if it made no sound. */
  readonly kind: KindDistance | null;
  /** The same of the fitted patch. */
  readonly kindAfter: KindDistance | null;
  /** The largest differences left in bands and time. */
  readonly shortfalls: readonly Shortfall[];
  /** By how many dB the loudest moment of a hit became louder. */
  readonly louderDb: number;
  /**
   * Settings that make up for one another, of which the recording does not decide both: more of one with less of the other,
   * or, if `isSame`, with more of it. Of few settings alone.
   */
  readonly pairs: readonly { readonly knobs: readonly [Knob, Knob]; readonly isSame: boolean }[];
  /** Values that would have brought a concern with them. */
  readonly refused: readonly Refused[];
  readonly tries: number;
  readonly isStopped: boolean;
}

/** Renders by default: so many s of sound, each render counting as some s more. */
const USUAL = { least: 400, most: 1250, seconds: 830, each: 0.5 };
/** The same for few settings, of which more renders gain nothing. */
const FEW_USUAL = { most: 800, seconds: 1300 };
/** The same for a voice that was built: s of sound. */
const BUILT_SECONDS = 300;
/** Looking at each setting by itself may use about this share of all renders; the others are shares of those not kept for later. */
const SCAN_SHARE = 0.45;
/** For few settings, the moves by measures may use this share before that. */
const MEASURED_SHARE = 0.3;
/** ... and the descents from where these lead this share. */
const DESCEND_SHARE = 0.85;
/** The last simplexes of few settings, in units of the search. */
const FINE = [0.12, 0.04];
/** More settings than this are not looked at one by one over their whole ranges, but moved together. */
const FEW = 4;
/** Moving them together may use this share of all renders. */
const CLIMB_SHARE = 0.75;
/** ... of which the first descent uses this share. */
const DOWN_SHARE = 0.45;
/** Frequencies are searched again over their whole ranges as long as that gains this much, dB. */
const WORTH_AGAIN = 0.05;
/** The first search may use this share of all renders; the second knows what need not be moved. */
const FIRST_SHARE = 0.88;
/** Renders for each setting that are kept to find out how far the recording decides it, at most a share of all. */
const RESERVED = { share: 0.2, least: 4, most: 14 };
/** Looking for the likeliest is done where it takes at most this share. */
const LIKELY_SHARE = 0.5;
/** Renders for each setting that are kept to give it back, where many are moved. */
const SETTLED = 2;

/**
 * How many renders a fit makes by default. Many settings take more, and a long hit allows fewer, so that it
 * takes some 10 s at most.
 */
export function usualTries(settings: number, { target, used }: RecordedHits): number {
  const { least, most, seconds, each } = USUAL;
  const enough = Math.max(least, fewestTries(settings));
  if (settings <= FEW) {
    const some = Math.round(FEW_USUAL.seconds / (used * target.seconds));
    return Math.max(enough, 2 * likelyTries(settings), Math.min(FEW_USUAL.most, some));
  }
  return Math.max(enough, Math.min(most, Math.round(seconds / (each + used * target.seconds))));
}

/**
 * How many a fit makes by default of a voice that was just built from the recording: it is near a minimum already, so that
 * few bring most, and the time is that of the building and of these.
 */
export function builtTries(settings: number, { target, used }: RecordedHits): number {
  const { each } = USUAL;
  return Math.max(
    fewestTries(settings),
    Math.round(BUILT_SECONDS / (each + used * target.seconds)),
  );
}

/** The fewest renders that are useful for so many settings. */
export function fewestTries(settings: number): number {
  return 10 * settings + 10;
}

/**
 * Chooses the channel that is played.
 * @param asked its name, or `module.channel`.
 * @returns undefined if no channel leads to the output, so that the patch is played as it is.
 * @throws FitError if it is not clear which, or no channel has that name.
 */
export function channelOf(patch: Patch, asked: string | undefined): VoiceChannel | undefined {
  const channels = voiceChannels(patch);
  const names = channels.map(({ name }) => name).join(', ');
  if (asked === undefined) {
    if (channels.length < 2) return channels[0];
    throw new FitError(
      `${patch.file}: several channels are heard in this patch (${names}), and the recording is of one of them. Say which with --channel, such as --channel ${channels[0]?.name}.`,
    );
  }
  const found = channels.find(
    ({ module, name }) => name === asked || `${module}.${name}` === asked,
  );
  if (found !== undefined) return found;
  throw new FitError(
    `--channel ${asked}: no such channel leads to the output. ${names === '' ? 'The patch has none that does.' : `Those that do: ${names}.`}`,
  );
}

/**
 * Fits.
 * @throws FitError if the patch as it is makes no hit that can be compared.
 */
export async function fitPatch(request: FitRequest): Promise<Fit> {
  const { knobs, written, onProgress, breathe, isStopped } = request;
  const tries = new Tries({
    ...request,
    onRender: (done) => {
      onProgress(Math.min(done, request.tries), request.tries);
      return breathe();
    },
  });
  const own = knobs.map(({ before }) => before);
  const searchBefore = await tries.at(own);
  if (!Number.isFinite(searchBefore))
    throw new FitError(
      `${written.main}: the patch as it is makes no sound that sets in, so there is no hit to compare. Listen to it with "forehear render".`,
    );
  // What one draw of noise has nearest is not the likeliest: for few settings, renders are kept to look for that.
  const wantsLikely =
    knobs.length <= FEW && likelyTries(knobs.length) <= LIKELY_SHARE * request.tries;
  const hasLikely = wantsLikely && (await tries.drawn(own, 1)) !== searchBefore;
  // Where noise has its part, that comes closer than a polish.
  const isPolished =
    !hasLikely || isSteady([await tries.partsAt(own), await tries.partsAt(own, 1)]);
  const { scanned, polished, likelier, lookedAt } = searches(
    request,
    tries,
    hasLikely ? likelyTries(knobs.length) : 0,
  );
  const { isScanned, axes } = await scanned();
  if (isPolished) await polished(FIRST_SHARE, axes);

  const textWith = (values: readonly number[]): string =>
    withValues(written, movedBy(knobs, values), request);
  const patchWith = (values: readonly number[]): Patch =>
    reread(written, textWith(values), request);
  const isOver = (): boolean => isStopped() || tries.done >= request.tries;
  const settling: SettleOptions = { ...request, tries, before: searchBefore, patchWith, isOver };
  const keepOwn = (): void => {
    tries.best = { values: own, db: searchBefore };
  };
  // The settings still moved are polished without those given back, which may lead to values that do harm.
  await giveBack(settling);
  const refused = [...(await giveBackHarm(settling))];
  if (tries.best.db > searchBefore) keepOwn();
  const isRefused = (axis: number): boolean => refused.some(({ knob }) => knob === knobs[axis]);
  if (isPolished) {
    await polished(
      1,
      refused.length > 0 ? axes.filter((axis) => !isRefused(axis)) : movedAxes(tries, knobs),
    );
    await giveBack(settling);
  }
  if (!hasLikely) {
    await comeNearer(settling);
    await giveBack(settling);
  }
  const allowed = [...knobs.keys()].filter((axis) => !isRefused(axis));
  let chance: ByChance = hasLikely ? await likelier(allowed) : NO_CHANCE;
  for (const one of await giveBackHarm(settling)) refused.push(one);
  // The whole gain is too small to make a difference.
  if (tries.best.db > searchBefore - DECIDED) keepOwn();
  const before = tries.heard(patchWith(own));
  let after = tries.heard(patchWith(tries.best.values));
  if (before === undefined || after === undefined || after.distance.db > before.distance.db) {
    keepOwn();
    after = before;
  }

  const settings: FittedSetting[] = [];
  // What is tried first of each setting.
  tries.prepare(
    knobs.flatMap((knob, axis) => {
      const { values } = tries.best;
      return movedBy10(knob, values[axis] as number).map((one) => values.with(axis, one));
    }),
  );
  for (const axis of knobs.keys()) {
    const told = asMoved(knobs, axis, tries.best.values);
    if (told === undefined) continue;
    const isMoved = tries.best.values[axis] !== knobs[axis]?.before;
    const isTried = isScanned && !axes.includes(axis) && !isMoved;
    const found = await fitted(tries, axis, request, isTried);
    // It may have mattered together with values that were given back.
    const isFlat = found.alike !== null && found.alike.low === null && found.alike.high === null;
    const matters = !isTried && !(isFlat && found.after === told.before);
    settings.push({ ...found, knob: told, matters });
  }
  // Of many, one makes up for another, so that a range of one alone would say little.
  const isFew = knobs.length <= FEW && !isStopped();
  if (isFew && !hasLikely && tries.done + chanceTries(knobs.length) <= request.tries)
    chance = await lookedAt(allowed);
  for (const [index, found] of settings.entries()) {
    const error = chance.errors.get(knobs.findIndex(({ path }) => path === found.knob.path));
    if (error !== undefined && found.matters)
      settings[index] = byChance(
        found,
        chanceRange(found.knob, found.after, STATED_ERRORS * error),
      );
  }
  const pairs = chance.pairs.flatMap(({ axes: [one, other], isSame }) => {
    const both = [knobs[one] as Knob, knobs[other] as Knob] as const;
    const told = both.map(({ path }) => settings.find(({ knob }) => knob.path === path));
    const isOpen = told.every((own) => own?.matters) && told.some((own) => !own?.isDecided);
    return isOpen ? [{ knobs: both, isSame }] : [];
  });
  return {
    settings,
    pairs,
    text: textWith(tries.best.values),
    distanceBefore: before?.distance.db ?? searchBefore,
    distanceAfter: after?.distance.db ?? searchBefore,
    kind: before?.kind ?? null,
    kindAfter: after?.kind ?? null,
    shortfalls:
      after === undefined
        ? []
        : shortfallsOf(after.distance, {
            sound: request.recording.sound,
            frames: request.recording.target.frames,
          }),
    louderDb: 10 * Math.log10((after?.power ?? 1) / (before?.power ?? 1)),
    refused,
    tries: tries.done,
    isStopped: isStopped(),
  };
}

/**
 * A setting as it is reported: alone, if the one that turns with it was moved by itself.
 * @returns undefined for that one, if it was not.
 */
function asMoved(
  knobs: readonly Knob[],
  axis: number,
  values: readonly number[],
): Knob | undefined {
  const knob = knobs[axis] as Knob;
  const { twin, ...alone } = knob;
  const other = knobs.findIndex(
    ({ module, setting }) => module === knob.module && setting === twin,
  );
  const isLed = knobs.some((one) => one.module === knob.module && one.twin === knob.setting);
  if (isLed && values[axis] === knob.before) return undefined;
  return other < 0 || values[other] === knobs[other]?.before ? knob : alone;
}

/**
 * The ways of looking for the smallest distance, each with a share of all renders.
 * @param likely renders that are kept for the likeliest.
 */
function searches(request: FitRequest, tries: Tries, likely: number) {
  const { knobs, isStopped } = request;
  const { share, least, most } = RESERVED;
  const kept = Math.floor((share * request.tries) / knobs.length);
  const settled = knobs.length > FEW ? SETTLED : 0;
  const decided = knobs.length * Math.min(most, Math.max(least, kept));
  const reserved = knobs.length * settled + decided + likely;
  const bounds = knobs.map(boundsOf);
  const start = knobs.map((knob) => coordinateOf(knob, knob.before));
  const within = (part: number, axes: readonly number[]): Descent & ValuedSearch => {
    const held = tries.best.values;
    const valueOn = (knob: Knob, axis: number, coordinate: number): number => {
      if (!axes.includes(axis)) return held[axis] as number;
      const isInside = knob.before >= knob.low && knob.before <= knob.high;
      return isInside && coordinate === start[axis] ? knob.before : knobValue(knob, coordinate);
    };
    const valuesOf = (place: readonly number[]): readonly number[] =>
      knobs.map((knob, axis) => valueOn(knob, axis, place[axis] as number));
    return {
      ...{ bounds, valuesOf },
      evaluate: (place) => tries.at(valuesOf(place)),
      residuals: (place) => tries.partsAt(valuesOf(place)),
      prepare: (places) => tries.prepare(places.map(valuesOf)),
      isOver: () => isStopped() || tries.done >= part * (request.tries - reserved),
    };
  };
  const polished = async (part: number, axes: readonly number[]): Promise<void> => {
    const found = within(part, axes);
    if (found.isOver() || axes.length === 0) return;
    const place = knobs.map((knob, axis) => coordinateOf(knob, tries.best.values[axis] as number));
    const from = { place, value: await found.evaluate(place) };
    const dials = axes.filter((axis) => !isSwitch(knobs[axis] as Knob));
    if (dials.length > FEW) await descend(found, from, dials);
    else await polish(found, from, dials, FINE);
  };
  // Finds which settings make a difference, and whether each was looked at over its whole range.
  const scanned = async (): Promise<{ axes: readonly number[]; isScanned: boolean }> => {
    const all = [...knobs.keys()];
    const here = (): BestPlace => ({
      place: knobs.map((knob, axis) => coordinateOf(knob, tries.best.values[axis] as number)),
      value: tries.best.db,
    });
    if (knobs.length > FEW) {
      const climbing = within(CLIMB_SHARE, all);
      await moveByMeasures(tries, knobs, request.recording, {
        isWide: true,
        isOver: climbing.isOver,
      });
      const dials = all.filter((axis) => !isSwitch(knobs[axis] as Knob));
      const measured = here();
      const down = await descend(within(DOWN_SHARE, dials), here(), dials);
      const up = await climb(climbing, here(), dials);
      const again = within(FIRST_SHARE, dials);
      for (let before = Number.POSITIVE_INFINITY; before - tries.best.db > WORTH_AGAIN; ) {
        before = tries.best.db;
        await relocate(tries, knobs, again.isOver);
        await descend(again, here(), dials);
      }
      // Another descent from the same start may end in a deeper minimum.
      await descend(again, await climb(again, measured, dials), dials);
      const axes = all.filter(
        (axis) => !dials.includes(axis) || down.axes.includes(axis) || up.axes.includes(axis),
      );
      return { axes, isScanned: false };
    }
    const scanning = within(1, all);
    const { isOver } = within(MEASURED_SHARE, all);
    const tunings = await moveByMeasures(tries, knobs, request.recording, {
      ...{ isWide: false, isOver },
    });
    const steps = Math.floor((SCAN_SHARE * request.tries) / knobs.length);
    const { axes } = await explore(scanning, here().place, {
      others: tunings.map((values) =>
        knobs.map((knob, axis) => coordinateOf(knob, values[axis] as number)),
      ),
      ...{ mostSteps: steps, dials: all.filter((axis) => !isSwitch(knobs[axis] as Knob)) },
      isScanned: within(SCAN_SHARE, all).isOver,
      isDescended: within(DESCEND_SHARE, all).isOver,
    });
    return { axes, isScanned: !scanning.isOver() };
  };
  const { target, used } = request.recording;
  const looked = { bands: target.typicalFrames.bands.length, hits: used };
  const placeOf = (): readonly number[] =>
    knobs.map((knob, axis) => coordinateOf(knob, tries.best.values[axis] as number));
  const likelier = async (among: readonly number[]): Promise<ByChance> => {
    const axes = among.filter((axis) => !isSwitch(knobs[axis] as Knob));
    if (axes.length === 0) return NO_CHANCE;
    const moved = movedAxes(tries, knobs);
    const back = axes.filter((axis) => !moved.includes(axis));
    return comeLikelier(
      tries,
      { ...within(1, axes), isOver: isStopped },
      {
        ...{ ...looked, axes, from: placeOf(), upTo: request.tries - decided },
        back: new Map(back.map((axis) => [axis, start[axis] as number])),
      },
    );
  };
  const lookedAt = (among: readonly number[]): Promise<ByChance> => {
    const axes = among.filter((axis) => !isSwitch(knobs[axis] as Knob));
    return chanceAt(tries, within(1, axes), { ...looked, axes, from: placeOf() });
  };
  return { scanned, polished, likelier, lookedAt };
}

/** Reads the patch with a new text of its file. */
export function reread(
  written: PatchTexts,
  text: string,
  { kinds = KINDS }: KindsOption = {},
): Patch {
  const { patch, problems } = readTexts(withText(written, text), { kinds });
  if (patch === undefined) throw new FitError(problems.map(({ message }) => message).join('; '));
  return patch;
}

/** What is told of a setting with the values that other noise might have made the nearest. */
function byChance(found: FittedSetting, range: ChanceRange | null): FittedSetting {
  if (range === null) return found;
  const { low, high } = found.alike ?? range;
  const wider = (own: number | null, other: number | null, of: (...all: number[]) => number) =>
    own === null || other === null ? null : of(own, other);
  const alike = {
    low: wider(low, range.low, Math.min),
    high: wider(high, range.high, Math.max),
  };
  return { ...found, isDecided: false, alike };
}

async function fitted(
  tries: Tries,
  axis: number,
  { knobs, isStopped, tries: most }: FitRequest,
  isTried: boolean,
): Promise<Omit<FittedSetting, 'matters'>> {
  const knob = knobs[axis] as Knob;
  const { values, db } = tries.best;
  const after = values[axis] as number;
  const end: FittedSetting['end'] = after <= knob.low ? 'low' : after >= knob.high ? 'high' : null;
  const common = { knob, after, end: after === knob.before || isSwitch(knob) ? null : end };
  const unknown = { ...common, riseDb: null, isDecided: null, alike: null };
  if (isStopped()) return unknown;
  // Its whole range was tried already, and made no difference.
  if (isTried && after === knob.before)
    return { ...common, riseDb: 0, isDecided: false, alike: { low: null, high: null } };
  const rise = async (value: number) => (await tries.aside(values.with(axis, value))) - db;
  const isOver = (): boolean => isStopped() || tries.done >= most;
  const below = await flatSide(knob, after, -1, rise, isOver);
  const above = await flatSide(knob, after, 1, rise, isOver);
  const isLooked = [below, above].every(({ riseDb, edge }) => riseDb !== null || edge !== null);
  if (isStopped() || !isLooked) return unknown;
  const rises = [below.riseDb, above.riseDb].filter((one) => one !== null);
  const riseDb = rises.length > 0 ? Math.max(0, smallest(rises)) : 0;
  const isSharp = riseDb >= DECIDED;
  const isFound = [below, above].every(
    (side) => side.edge !== null || (side.riseDb ?? 0) >= DECIDED,
  );
  const boundOf = ({ edge, isEnd }: typeof below): number | null =>
    isEnd ? null : (edge ?? after);
  const alike = isSharp || !isFound ? null : { low: boundOf(below), high: boundOf(above) };
  // A moved setting counts as decided until it is known which other values are as good.
  const isUnknown = !isSharp && !isFound && after !== knob.before;
  return { ...common, riseDb, isDecided: isUnknown ? null : isSharp, alike };
}
