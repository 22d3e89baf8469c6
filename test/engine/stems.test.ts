// Stems behind panners and crossfaders: each voice on both sides, as the laws of these say (cos and sin of the place),
// computed here from the volts in front of them.

import { describe, expect, it } from 'vitest';
import { render } from '../../src/engine/render.ts';
import { stemsOf } from '../../src/engine/stems.ts';
import { check } from '../../src/findings/check.ts';
import { KINDS } from '../../src/modules/kinds.ts';
import { jackName, type Patch } from '../../src/patch/patch.ts';
import { readPatch } from '../../src/patch/read.ts';
import { close } from '../close.ts';

function patchOf(modules: readonly string[], cables: readonly string[]): Patch {
  const voices = [
    'low: { kind: oscillator, at-zero: 110 Hz }',
    'high: { kind: oscillator, at-zero: 1.3 kHz }',
    'sway: { kind: oscillator, at-zero: 3 Hz }',
    'out: { kind: output, full-scale: 10 V }',
  ];
  const text = `modules:\n${[...voices, ...modules].map((one) => `  ${one}`).join('\n')}\ncables:\n${cables
    .map((one) => `  - ${one}`)
    .join('\n')}\n`;
  const { patch, problems } = readPatch(text, { file: 'test.yaml', kinds: KINDS });
  if (patch === undefined) throw new Error(JSON.stringify(problems));
  return patch;
}

/** Renders 0.5 s with all stems and the volts of some jacks. */
function played(patch: Patch, probes: readonly string[] = []) {
  const stems = stemsOf(patch);
  const sound = render(patch, {
    length: { unit: 'seconds', value: 0.5 },
    tail: { unit: 'seconds', value: 0 },
    stems,
    probes: probes.map((name) => {
      const [module, jack] = name.split('.') as [string, string];
      return { module, jack };
    }),
  });
  return { names: stems.map(({ jack }) => jackName(jack)), ...sound };
}

/** How far the stems' sum is from the mix at most, full scale being 1. */
function fromTheMix({ channels, stems }: ReturnType<typeof played>): number {
  return Math.max(
    ...channels.map((mix, side) =>
      mix.reduce((worst, value, i) => {
        const sum = stems.reduce((total, stem) => total + (stem[side]?.[i] as number), 0);
        return Math.max(worst, Math.abs(sum - value));
      }, 0),
    ),
  );
}

const TO_PANNER = [
  'low.sine -> both.in-1',
  'high.sine -> both.in-2',
  'both.out -> place.in',
  'place.left -> out.left',
  'place.right -> out.right',
];
/** Rounding of sums and of a polynomial for the sine in double precision; a 24-bit step is 1.2e-7. */
const ROUNDED = 1e-12;

describe('stems behind what comes last', () => {
  it('are the voices, on both sides, where a panner stands still', () => {
    const sound = played(
      patchOf(['both: { kind: mixer }', 'place: { kind: panner, pan: -40 % }'], TO_PANNER),
      ['low.sine'],
    );
    expect(sound.names).toEqual(['low.sine', 'high.sine']);
    expect(fromTheMix(sound)).toBeLessThan(ROUNDED);
    const angle = (0.6 * Math.PI) / 4;
    const [left, right] = sound.stems[0] as readonly Float64Array[];
    const at = 1234;
    close((right?.[at] as number) / (left?.[at] as number), Math.tan(angle), {
      abs: 5e-7,
      unit: '',
      why: 'rounding of what both sides are a share of',
    });
  });

  it('are the voices, on both sides, where volts move a panner', () => {
    const sound = played(
      patchOf(
        ['both: { kind: mixer }', 'place: { kind: panner, control-amount: 80 % }'],
        [...TO_PANNER, 'sway.sine -> place.pan'],
      ),
      ['low.sine', 'sway.sine'],
    );
    expect(sound.names).toEqual(['low.sine', 'high.sine']);
    expect(fromTheMix(sound)).toBeLessThan(ROUNDED);
    const [low, sway] = sound.probes as [Float64Array, Float64Array];
    const [left, right] = sound.stems[0] as [Float64Array, Float64Array];
    // 1 kohm of the mixer into 100 kohm of the panner, and of the panner into the output, over 10 V.
    const scale = (100 / 101) ** 2 / 10;
    let worst = 0;
    low.forEach((volts, i) => {
      const place = Math.min(1, Math.max(-1, (0.8 * (sway[i] as number)) / 5));
      const angle = ((1 + place) * Math.PI) / 4;
      worst = Math.max(
        worst,
        Math.abs((left[i] as number) - volts * Math.cos(angle) * scale),
        Math.abs((right[i] as number) - volts * Math.sin(angle) * scale),
      );
    });
    // What the polynomial is off a true sine.
    expect(worst).toBeLessThan(1e-6);
  });

  it('are the voices of a crossfader, of panners in a row, and of one dry and panned at once', () => {
    const sounds = [
      patchOf(
        ['fade: { kind: crossfader, mix: 0 % }'],
        [
          'low.sine -> fade.a',
          'high.sine -> fade.b',
          'sway.sine -> fade.control',
          'fade.out -> out.left',
        ],
      ),
      patchOf(
        [
          'first: { kind: panner }',
          'second: { kind: panner, pan: 30 % }',
          'left: { kind: mixer, level-1: 50 %, level-2: 50 %, level-3: 50 % }',
        ],
        [
          'low.sine -> first.in',
          'sway.sine -> first.pan',
          'sway.triangle -> second.pan',
          'first.left -> second.in',
          'first.right -> out.right',
          'second.left -> left.in-1',
          'low.sine -> left.in-2',
          'high.sine -> left.in-3',
          'left.out -> out.left',
        ],
      ),
    ].map((patch) => played(patch));
    for (const sound of sounds) {
      expect(sound.names).toEqual(['low.sine', 'high.sine']);
      expect(fromTheMix(sound)).toBeLessThan(ROUNDED);
    }
  });

  it('are the sides of a panner that its own sound moves, a sample late', () => {
    const patch = patchOf(
      ['both: { kind: mixer }', 'place: { kind: panner }'],
      [...TO_PANNER, 'place.left -> place.pan'],
    );
    const sound = played(patch);
    expect(sound.names).toEqual(['place.left', 'place.right']);
    expect(fromTheMix(sound)).toBeLessThan(ROUNDED);
  });

  it('do not let a voice be called too soft that volts fade in', () => {
    const found = check(
      patchOf(
        [
          'fade: { kind: crossfader, mix: 0 % }',
          'up: { kind: attenuator, level: 0 %, offset: 8 V }',
        ],
        [
          'low.sine -> fade.a',
          'high.sine -> fade.b',
          'sway.sine -> up.in',
          'up.out -> fade.control',
          'fade.out -> out.left',
        ],
      ),
    ).filter(({ rule }) => rule === 'too-quiet');
    expect(found.map(({ jack }) => jack?.module)).not.toContain('high');
  });
});
