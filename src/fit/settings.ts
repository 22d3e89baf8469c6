/** The settings that a fit varies: those asked for, or those that shape a voice, each with its range and scale. */

import type { ChoiceSpec, NumberSpec, SettingSpec, Tone } from '../modules/definition.ts';
import type { Patch, PatchModule } from '../patch/patch.ts';
import { parseSetting } from '../patch/settings.ts';
import { nearest } from '../patch/text/nearest.ts';
import { formatBriefly, isInRatios } from '../patch/units.ts';
import type { Bounds } from './search.ts';

/** The request cannot be fitted; the message says why and what would be right. */
export class FitError extends Error {}

/** A setting that is varied. */
export interface Knob {
  /** `module.setting`. */
  readonly path: string;
  readonly module: string;
  readonly setting: string;
  readonly spec: NumberSpec | ChoiceSpec;
  /** The patch's own value, in the unit of {@link Quantity}; of a switch, which of its positions, from 0. */
  readonly before: number;
  /** How the file writes it; undefined where it does not, or as the position of a dial. */
  readonly words: string | undefined;
  /** The range that is searched, in the same unit. */
  readonly low: number;
  readonly high: number;
  /** Whether equal steps are equal ratios. */
  readonly isRatio: boolean;
  /** Another setting of the module that has the same value, and keeps it. */
  readonly twin?: string;
}

/** A knob, and the one that turns with it. */
export function withTwin(knob: Knob): readonly Knob[] {
  const { twin, module } = knob;
  if (twin === undefined) return [knob];
  const { twin: _, words: __, ...own } = knob;
  return [knob, { ...own, path: `${module}.${twin}`, setting: twin, words: undefined }];
}

/**
 * The settings that some values move, each with its value. One that turns with another does so until it is moved
 * by itself.
 */
export function movedBy(
  knobs: readonly Knob[],
  values: readonly number[],
): readonly { readonly knob: Knob; readonly value: number }[] {
  const isMoved = (path: string): boolean =>
    knobs.some((knob, axis) => knob.path === path && values[axis] !== knob.before);
  return knobs.flatMap((knob, axis) => {
    const value = values[axis] as number;
    if (value === knob.before) return [];
    return withTwin(knob)
      .filter(({ path }) => path === knob.path || !isMoved(path))
      .map((one) => ({ knob: one, value }));
  });
}

/** A time range that starts at 0 has no logarithm there: this stands for it, s. */
const SHORTEST = 1e-4;
/** ... and this one for a level. */
const FAINTEST = 0.003;
/** Length of a range of equal steps, in units of the search. */
const EVEN_UNITS = 4;
/** As fine as a dial can be set. */
const DIGITS = 4;
/** More than the four that a fit gives, so that the end of a range is as it was asked for. */
const WRITTEN_DIGITS = 6;
const USAGE =
  'expected MODULE.SETTING or MODULE.SETTING=LOWEST..HIGHEST, such as shape.decay=10ms..500ms';
/** The audible range, Hz. */
const HEARD = { low: 20, high: 20_000 };
/** How far a level may be turned down and up. */
const LEVELS = { down: 30, up: 8 };
/** How far a drive may be turned, dB. */
const DRIVES = 18;
/** The meaning of "moved by 10 %" for a setting of equal steps: this share of its range. */
const MOVED = 0.1;

/**
 * Reads the settings to vary: `shape.decay=10ms..500ms`, or `shape.decay` for its whole range.
 * @throws FitError with what is wrong.
 */
export function readKnobs(texts: readonly string[], patch: Patch): readonly Knob[] {
  const knobs = texts.map((text) => readKnob(text, patch));
  knobs.forEach(({ path }, index) => {
    if (knobs.findIndex((other) => other.path === path) !== index)
      throw new FitError(`--vary: ${path} is varied twice. Give it one range.`);
  });
  return knobs;
}

/** Knobs, and others in place of those of the same setting: two would be moved against each other. */
export function knobsWith(knobs: readonly Knob[], others: readonly Knob[]): readonly Knob[] {
  return [...knobs.filter(({ path }) => others.every((one) => one.path !== path)), ...others];
}

/**
 * The settings that shape a voice: times, pitches, cutoffs, q, how far a voltage moves a filter, and the levels
 * in mixers. Settings that cannot matter are left out: times that are 0 for good reason and levels that are 0.
 */
export function usualKnobs(patch: Patch, modules: ReadonlySet<string>): readonly Knob[] {
  return patch.modules
    .filter(({ name }) => modules.has(name))
    .flatMap((module) =>
      Object.entries(module.definition.settings).flatMap(([setting, spec]) =>
        isNumber(spec)
          ? usualKnob(patch, module, setting, spec)
          : usualSwitch(patch, module, setting, spec),
      ),
    );
}

/** The curve of an envelope that opens an amplifier: a straight fall sounds different from one that slows down. */
function usualSwitch(
  patch: Patch,
  { name, definition, settings, dials, written }: PatchModule,
  setting: string,
  spec: SettingSpec,
): readonly Knob[] {
  if (spec.type !== 'choice' || setting !== 'curve' || !opensAmplifier(patch, name)) return [];
  if (definition.course === undefined || dials?.has(setting)) return [];
  const { options } = spec;
  const before = options.indexOf(settings[setting] as string);
  const words = written?.settings.get(setting);
  const range = { low: 0, high: options.length - 1, isRatio: false };
  return [{ path: `${name}.${setting}`, module: name, setting, spec, before, words, ...range }];
}

/** Whether a knob is a switch, which has no values between. */
export function isSwitch({ spec }: Knob): boolean {
  return spec.type === 'choice';
}

function usualKnob(
  patch: Patch,
  module: PatchModule,
  setting: string,
  spec: NumberSpec,
): readonly Knob[] {
  const before = module.settings[setting] as number;
  const { course, lags } = module.definition;
  const { type, max, tone, input } = spec;
  const isHeard = tone?.output === undefined || isTaken(patch, module, tone.output);
  if (type === 'time') {
    // Those of an envelope, and of what opens and shuts at its own pace, are the shape of a sound.
    const isShape = tone !== undefined || course !== undefined || lags === true;
    if (!isShape || !isHeard) return [];
    const knob = knobOf(module, setting, spec);
    if (course?.(module.settings).gated !== false) return [knob];
    // The decay runs to its end whatever the trigger does, and the release is the rest of its fall.
    const { decay, release } = module.settings;
    if (setting === 'release') return canBend(patch, module) ? [knob] : [];
    return [setting === 'decay' && release === decay ? { ...knob, twin: 'release' } : knob];
  }
  if (tone !== undefined) return isHeard ? [toneKnob(module, setting, spec, tone)] : [];
  if (spec.toldBy === 'sustain' && canBend(patch, module))
    return [knobOf(module, setting, spec, undefined, true)];
  // The level of an input matters only where it has a cable.
  const isCounted = input !== undefined && isPatched(patch, module, input);
  if (type !== 'percent' || !isCounted || before <= 0) return [];
  const range = { low: before / LEVELS.down, high: Math.min(max, before * LEVELS.up) };
  return [knobOf(module, setting, spec, range, true)];
}

/** A colour or a pitch, in the range that is tried. */
function toneKnob(module: PatchModule, setting: string, spec: NumberSpec, { most }: Tone): Knob {
  const before = module.settings[setting] as number;
  const { type, min } = spec;
  const max = Math.max(before, Math.min(spec.max, most ?? spec.max));
  switch (type) {
    case 'frequency': {
      const low = Math.max(min, Math.min(before, HEARD.low));
      return knobOf(module, setting, spec, { low, high: Math.min(max, HEARD.high) });
    }
    case 'decibel':
      return knobOf(module, setting, spec, {
        low: Math.max(min, before - DRIVES),
        high: Math.min(max, before + DRIVES),
      });
    default:
      return knobOf(
        module,
        setting,
        spec,
        { low: min, high: max },
        type === 'number' ? true : undefined,
      );
  }
}

/**
 * Whether an envelope that falls at once could fall in two slopes: fast to the sustain level, and slowly from
 * there. It has to open an amplifier: anything else that it moves has a resting value to fall to.
 */
function canBend(patch: Patch, { name, definition, settings }: PatchModule): boolean {
  const course = definition.course?.(settings);
  return course?.gated === false && course.sustain === 0 && opensAmplifier(patch, name);
}

/** Whether a module's output reaches the control of an amplifier, perhaps mixed with others. */
function opensAmplifier(patch: Patch, name: string): boolean {
  const passed = new Set([name]);
  for (const from of passed)
    for (const { from: own, to } of patch.cables) {
      if (own.module !== from) continue;
      const definition = patch.modules.find((one) => one.name === to.module)?.definition;
      const isOpened = definition?.opened !== undefined && definition.lags === undefined;
      if (isOpened && to.jack === 'control') return true;
      const carried = Object.values(definition?.carries ?? {}).flat();
      if (definition?.role === 'passive' || carried.includes(to.jack)) passed.add(to.module);
    }
  return false;
}

function isTaken({ cables }: Patch, { name }: PatchModule, jack: string): boolean {
  return cables.some(({ from }) => from.module === name && from.jack === jack);
}

function isPatched({ cables }: Patch, { name }: PatchModule, jack: string): boolean {
  return cables.some(({ to }) => to.module === name && to.jack === jack);
}

function readKnob(text: string, patch: Patch): Knob {
  const equals = text.indexOf('=');
  const path = (equals < 0 ? text : text.slice(0, equals)).trim();
  const dot = path.lastIndexOf('.');
  const [name, setting] = [path.slice(0, Math.max(0, dot)), path.slice(dot + 1)];
  const module = patch.modules.find((one) => one.name === name);
  if (module === undefined) {
    const legal = patch.modules.map((one) => one.name);
    throw wrong(text, `there is no module "${name}"`, nearest(name, legal));
  }
  const { settings, kind } = module.definition;
  const spec = Object.hasOwn(settings, setting) ? settings[setting] : undefined;
  if (spec === undefined)
    throw wrong(
      text,
      `"${kind}" has no setting "${setting}"`,
      nearest(setting, Object.keys(settings)),
    );
  if (!isNumber(spec))
    throw wrong(text, `${path} is not a single number, and only a number can be fitted`);
  if (equals < 0) return knobOf(module, setting, spec);
  const range = /^(.+?)\s*\.\.\s*(.+)$/.exec(text.slice(equals + 1).trim());
  if (range === null) throw wrong(text, 'a range is two values with ".." between them');
  const [low, high] = [range[1], range[2]].map((end) =>
    valueRead(end as string, spec, text, setting),
  );
  if (!((low as number) < (high as number)))
    throw wrong(text, 'the range goes from the lower value to the higher');
  return knobOf(module, setting, spec, { low: low as number, high: high as number });
}

function isNumber(spec: SettingSpec): spec is NumberSpec {
  return 'max' in spec && spec.type !== 'row';
}

function valueRead(end: string, spec: NumberSpec, text: string, setting: string): number {
  const reading = parseSetting(end, spec, setting);
  if (!reading.fault) return reading.value as number;
  const { message, expected, nearest: near } = reading.fault;
  throw wrong(text, message, near, expected && `expected ${expected}`);
}

function wrong(text: string, why: string, near?: string, help: string = USAGE): FitError {
  return new FitError(
    `--vary ${text}: ${why}.\n  ${near === undefined ? help : `did you mean ${near}?`}`,
  );
}

function knobOf(
  module: PatchModule,
  setting: string,
  spec: NumberSpec,
  range: Bounds = { low: spec.min, high: spec.max },
  isRatio?: boolean,
): Knob {
  const { name, settings, dials, written } = module;
  const before = settings[setting] as number;
  const words = dials?.has(setting) ? undefined : written?.settings.get(setting);
  const path = `${name}.${setting}`;
  return inRange({ path, module: name, setting, spec, before, words }, range, isRatio);
}

/** A setting with the range that is searched. @param isRatio as usual for its unit unless given. */
export function inRange(
  { path, module, setting, spec, before, words }: Omit<Knob, 'low' | 'high' | 'isRatio'>,
  { low, high }: Bounds,
  isRatio = isOfRatios(spec, low),
): Knob {
  return { path, module, setting, spec, before, words, low, high, isRatio };
}

/** A time may begin at 0; any other setting that does has no ratios there. */
function isOfRatios({ type }: Knob['spec'], low: number): boolean {
  return type !== 'choice' && isInRatios(type) && (low > 0 || (type === 'time' && low === 0));
}

/** The range in the search's coordinates: ratios as logarithms, so that one unit is a factor of e. */
export function boundsOf(knob: Knob): Bounds {
  const { low, high, isRatio } = knob;
  return isRatio
    ? { low: Math.log(leastRatio(knob)), high: Math.log(high) }
    : { low: 0, high: high > low ? EVEN_UNITS : 0 };
}

/** Where a value is in the bounds. */
export function coordinateOf(knob: Knob, value: number): number {
  const { low, high, isRatio } = knob;
  const inside = Math.min(high, Math.max(low, value));
  return isRatio
    ? Math.log(Math.max(leastRatio(knob), inside))
    : (EVEN_UNITS * (inside - low)) / (high - low);
}

/** The value at a coordinate, to four digits. */
export function knobValue(knob: Knob, coordinate: number): number {
  const { low, high, isRatio, spec } = knob;
  const bounds = boundsOf(knob);
  if (coordinate <= bounds.low) return low;
  if (coordinate >= bounds.high) return high;
  const exact = isRatio ? Math.exp(coordinate) : low + ((high - low) * coordinate) / EVEN_UNITS;
  const value = isStepped(spec) ? Math.round(exact) : rounded(exact, high - low);
  return Math.min(high, Math.max(low, value));
}

/**
 * The values a tenth below and above, as far as the range of the setting goes: of the value where
 * equal steps are equal ratios, otherwise of the range.
 */
export function movedBy10(knob: Knob, value: number): readonly number[] {
  const { low, high, isRatio, spec } = knob;
  if (spec.type === 'choice') return [value - 1, value + 1].filter((one) => one in spec.options);
  const step = MOVED * (high - low);
  // A tenth of 0 s is 0 s, so the shortest time is used instead.
  const from = isRatio ? Math.max(value, leastRatio(knob)) : value;
  return (isRatio ? [from / 1.1, from * 1.1] : [value - step, value + step])
    .map((moved) => (spec.type === 'count' ? Math.round(moved) : moved))
    .filter((moved) => moved >= spec.min && moved <= spec.max && moved !== value);
}

/** The value as the file would have it: the one that it has now, in its words. */
export function knobText(knob: Knob, value: number): string {
  return value === knob.before && knob.words !== undefined ? knob.words : valueText(knob, value);
}

/** A value with its unit, whatever the file has now. */
export function valueText({ spec }: Knob, value: number): string {
  if (spec.type === 'choice') return spec.options[value] as string;
  return formatBriefly(value, spec.type, WRITTEN_DIGITS);
}

function leastRatio({ low, high, spec }: Knob): number {
  return low > 0 ? low : Math.min(spec.type === 'percent' ? FAINTEST : SHORTEST, high / 10);
}

function isStepped({ type }: Knob['spec']): boolean {
  return type === 'count' || type === 'choice';
}

function rounded(value: number, span: number): number {
  return Math.abs(value) < span * 1e-9 ? 0 : Number(value.toPrecision(DIGITS));
}
