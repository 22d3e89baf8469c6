// Every electrical rule: a patch that breaks it, one just inside the limit, and the render, which
// does what was predicted. Limits are worked out by hand in the comments, from the facts of the
// jacks: 1 kohm out, 100 kohm in, on at 2.5 V, off at 1.5 V; switch inputs 10 kohm to 5 V, on under 0.8 V.

import { describe, expect, it } from 'vitest';
import { check } from '../../src/findings/check.ts';
import type { Finding } from '../../src/findings/finding.ts';
import type { Patch } from '../../src/patch/patch.ts';
import { close } from '../close.ts';
import { patchFrom } from '../patch-of.ts';
import { loudest, RATE, rises, voltsOf } from './hear.ts';
import { told } from './read.ts';
import { figure } from './voice.ts';

const ROUNDING = { abs: 5e-10, unit: 'V', why: 'rounding' };

interface Parts {
  readonly drums?: string;
  readonly shape?: string;
  readonly more?: string;
  /** What leads from the gate to the envelope. */
  readonly way?: readonly string[];
  readonly cables?: readonly string[];
  /** The text of a rack. */
  readonly rack?: string;
}

/** A hat of four strokes a second apart from 0.5 s, with gates long enough, and nothing wrong. */
function hat({ drums = '', shape = '', more = '', way, cables = [], rack }: Parts = {}): Patch {
  const lines = [
    ...(way ?? ['drums.hat -> shape.trigger']),
    ...cables,
    'shape.out -> level.control',
    'hiss.white -> level.in',
    'level.out -> out.left',
  ];
  return patchFrom(
    `title: Hat
${rack === undefined ? '' : 'rack: own.yaml'}
modules:
  drums: { kind: rhythm, tempo: 60 bpm, channels: [hat], gate: 50 ms${drums}, patterns: { groove: { hat: "--x- --x- --x- --x-" } } }
  shape: { kind: envelope, attack: 1 ms, decay: 20 ms, release: 20 ms${shape} }
  hiss: { kind: noise }
  level: { kind: amplifier }
  out: { kind: output }
${more}
cables:
${lines.map((line) => `  - ${line}`).join('\n')}
`,
    rack === undefined ? {} : { 'own.yaml': rack },
  );
}

/** Faults and cautions alone. */
function serious(patch: Patch): readonly Finding[] {
  return check(patch).filter(({ severity }) => severity !== 'note');
}

/** When the envelope fires, s; the strokes are at 0.5, 1.5, 2.5 and 3.5 s. */
function firings(patch: Patch): number[] {
  const [volts] = voltsOf(patch, 3.9, 'shape.out');
  return rises(volts as Float64Array, 2.5);
}
/** An envelope answers 1 ms late and takes 1 ms to rise; a sample more for the edge. */
const LATE = 0.0025;
function expectTimes(got: readonly number[], want: readonly number[]): void {
  expect(got).toHaveLength(want.length);
  got.forEach((time, index) => {
    expect(time).toBeGreaterThanOrEqual(want[index] as number);
    expect(time).toBeLessThan((want[index] as number) + LATE);
  });
}
const STROKES = [0.5, 1.5, 2.5, 3.5];

describe('a patch that works', () => {
  it('has no finding, and fires at each stroke', () => {
    expect(told(serious(hat()))).toEqual([]);
    expectTimes(firings(hat()), STROKES);
  });
});

describe('voltage-into-switch', () => {
  const wrong = (): Patch => hat({ shape: ', trigger: switch' });

  it('fires inverted: at the start, and when each gate ends', () => {
    const findings = serious(wrong());
    expect(told(findings)).toEqual(['voltage-into-switch fault shape.trigger']);
    // 5 V x 1 / 11 at rest; high, 5 V from both sides.
    close(figure(findings[0], 'lowVolts'), 5 / 11, ROUNDING);
    expect(findings[0]?.message).toContain('fires inverted');
    expectTimes(firings(wrong()), [0, ...STROKES.map((time) => time + 0.05)]);
  });

  it('is not found where a converter stands in between', () => {
    const right = hat({
      shape: ', trigger: switch',
      more: '  adapt: { kind: trigger-converter }',
      way: ['drums.hat -> adapt.voltage-in', 'adapt.switch-out -> shape.trigger'],
    });
    expect(told(serious(right))).toEqual([]);
    expectTimes(firings(right), STROKES);
  });

  it('is not found where the voltage idles high and falls to play, and that fires at each stroke', () => {
    // 5 V - 100 % of the gate: 5 V at rest, under 0.8 V while it plays.
    const right = hat({
      shape: ', trigger: switch',
      more: '  turn: { kind: attenuator, level: -100 %, offset: 5 V }',
      way: ['drums.hat -> turn.in', 'turn.out -> shape.trigger'],
    });
    expect(told(serious(right))).toEqual([]);
    expectTimes(firings(right), STROKES);
  });

  it('says so where the voltage cannot lift the input either, and that fires once', () => {
    // A gate of 1 V: at most (1 V / 1k + 5 V / 10k) / 1.1 mS = 1.364 V, under the 2.0 V of its off.
    const weak = hat({ shape: ', trigger: switch', drums: ', level: 1 V' });
    const [finding] = serious(weak);
    expect(finding?.message).toContain('fires once and never again');
    close(figure(finding, 'highVolts'), 1.5 / 1.1, ROUNDING);
    expectTimes(firings(weak), [0]);
  });
});

describe('switch-into-voltage', () => {
  const more =
    '  adapt: { kind: trigger-converter }\n  split: { kind: multiple }\n  other: { kind: envelope, trigger: switch }';

  it('never fires', () => {
    const wrong = hat({
      more: '  adapt: { kind: trigger-converter }',
      way: ['drums.hat -> adapt.voltage-in', 'adapt.switch-out -> shape.trigger'],
    });
    expect(told(serious(wrong))).toEqual(['switch-into-voltage fault shape.trigger']);
    expect(firings(wrong)).toEqual([]);
    expect(loudest(wrong, 4.2)).toBe(0);
  });

  it('fires inverted beside a pull-up on the same net', () => {
    const wrong = hat({
      more,
      way: [
        'drums.hat -> adapt.voltage-in',
        'adapt.switch-out -> split.in',
        'split.out-1 -> other.trigger',
        'split.out-2 -> shape.trigger',
        'other.out -> out.right',
      ],
    });
    const [finding] = serious(wrong).filter(({ rule }) => rule === 'switch-into-voltage');
    expect(finding?.message).toContain('fires inverted');
    // 5 V x 100 / 110 when open.
    close(figure(finding, 'openVolts'), 500 / 110, ROUNDING);
    expectTimes(firings(wrong), [0, ...STROKES.map((time) => time + 0.05)]);
  });

  it('is not found where a converter leads back to a voltage', () => {
    const right = hat({
      more: '  adapt: { kind: trigger-converter }\n  back: { kind: trigger-converter }',
      way: [
        'drums.hat -> adapt.voltage-in',
        'adapt.switch-out -> back.switch-in',
        'back.voltage-out -> shape.trigger',
      ],
    });
    expect(told(serious(right))).toEqual([]);
    expectTimes(firings(right), STROKES);
  });
});

describe('level-too-low and level-marginal', () => {
  // At the input stand level x 100 / 101: the threshold of 2.5 V is met at 2.525 V, a fifth more at 3.03 V.
  it.each([
    ['2.52 V', ['level-too-low fault shape.trigger'], 0],
    ['2.53 V', ['level-marginal caution shape.trigger'], 4],
    ['3.02 V', ['level-marginal caution shape.trigger'], 4],
    ['3.04 V', [], 4],
  ])('a gate of %s', (level, findings, fires) => {
    const patch = hat({ drums: `, level: ${level}` });
    expect(told(serious(patch))).toEqual(findings);
    expect(firings(patch)).toHaveLength(fires);
  });

  it('says by how much, however little that is', () => {
    // 2.5247 V x 100 / 101 is 0.297 mV under 2.5 V, and 2.5253 V as much over it.
    const [missing, spare] = ['2.5247 V', '2.5253 V'].map(
      (level) => serious(hat({ drums: `, level: ${level}` }))[0]?.message,
    );
    expect(missing).toContain('never fires; 0.0003 V is missing.');
    expect(spare).toContain('only 0.0003 V (0.012 %) to spare.');
  });

  it('counts what an attenuator leaves', () => {
    // 5 V x 100 / 101 x 50 % x 100 / 101 = 2.451 V; at 52 %, 2.549 V.
    const half = (level: string): Patch =>
      hat({
        more: `  less: { kind: attenuator, level: ${level} }`,
        way: ['drums.hat -> less.in', 'less.out -> shape.trigger'],
      });
    expect(told(serious(half('50 %')))).toEqual(['level-too-low fault shape.trigger']);
    expect(firings(half('50 %'))).toEqual([]);
    expect(told(serious(half('52 %')))).toEqual(['level-marginal caution shape.trigger']);
    expect(firings(half('52 %'))).toHaveLength(4);
  });

  it('is a caution where only the worst case fails', () => {
    // 2.8 V x 100 / 101 = 2.772 V; with 10 % off everywhere 2.52 V x 90 / 91.1 against 2.75 V.
    const patch = hat({ drums: ', level: 2.8 V' });
    const findings = check(patch, { tolerance: 0.1 });
    expect(told(findings)).toContain('level-too-low caution shape.trigger');
    close(figure(findings[0], 'marginVolts'), (2.52 * 90) / 91.1 - 2.75, ROUNDING);
  });
});

describe('stays-on', () => {
  const offset = (volts: string): Patch =>
    hat({
      more: `  lift: { kind: attenuator, level: 60 %, offset: ${volts} }`,
      way: ['drums.hat -> lift.in', 'lift.out -> shape.trigger'],
    });

  it('fires once and never again', () => {
    // Idle at 1.6 V x 100 / 101 = 1.584 V, not under 1.5 V.
    expect(told(serious(offset('1.6 V')))).toEqual(['stays-on fault shape.trigger']);
    expect(firings(offset('1.6 V'))).toHaveLength(1);
  });

  it('is not found just under the lower threshold', () => {
    // 1.51 V x 100 / 101 = 1.495 V.
    expect(told(serious(offset('1.51 V')))).toEqual([]);
    expect(firings(offset('1.51 V'))).toHaveLength(4);
  });
});

/** A rack whose envelopes differ in what was measured at their trigger. */
function envelopes(facts: string): string {
  return `units:
  drums: { kind: rhythm }
  shape: { kind: envelope, count: 20, jacks: { trigger: { ${facts} } } }
  hiss: { kind: noise }
  level: { kind: amplifier, count: 20 }
  split: { kind: multiple, count: 4, fixed: { jacks: 16 } }
  out: { kind: output }
`;
}
describe('level-too-high', () => {
  it('is found above the safe volts and not at them', () => {
    // 5 V x 100 / 101 = 4.95 V.
    const above = hat({ rack: envelopes('safe: 4.9 V') });
    expect(told(serious(above))).toEqual(['level-too-high caution shape.trigger']);
    const [volts] = voltsOf(above, 0.6, 'shape.trigger');
    expect(Math.max(...(volts as Float64Array))).toBeGreaterThan(4.9);
    expect(told(serious(hat({ rack: envelopes('safe: 5 V') })))).toEqual([]);
  });
});

describe('what the rack measured', () => {
  it('decides the sound as it decides the check', () => {
    const deaf = hat({ rack: envelopes('on: 4.96 V') });
    expect(told(serious(deaf))).toEqual(['level-too-low fault shape.trigger']);
    expect(firings(deaf)).toEqual([]);
    const keen = hat({ rack: envelopes('on: 4.1 V') });
    expect(told(serious(keen))).toEqual([]);
    expect(firings(keen)).toHaveLength(4);
  });
});

describe('loaded-down', () => {
  /** An envelope into the amplifier and so many attenuators: n / (100 + n) of its voltage is lost. */
  const many = (count: number): Patch => {
    const others = Array.from({ length: count - 1 }, (_, i) => `a${i}`);
    return hat({
      more: [
        '  split: { kind: multiple, jacks: 16 }',
        ...others.map((name) => `  ${name}: { kind: attenuator }`),
      ].join('\n'),
      cables: [
        'shape.out -> split.in',
        ...others.map((name, i) => `split.out-${i + 1} -> ${name}.in`),
      ],
    });
  };
  const about = (count: number): readonly Finding[] => {
    const patch = many(count);
    const [volts] = voltsOf(patch, 0.6, 'shape.out');
    const top = Math.max(...(volts as Float64Array));
    close(top / ((5 * 100) / (100 + count)), 1, {
      abs: 0.0005,
      unit: '',
      why: 'the sample nearest to the peak misses a little of it',
    });
    return check(patch).filter(({ rule }) => rule === 'loaded-down');
  };

  it('is found with twelve inputs and not with eleven', () => {
    // 12 / 112 = 10.7 %, 11 / 111 = 9.9 %.
    const [finding, ...others] = about(12);
    expect(finding?.jack).toEqual({ module: 'shape', jack: 'out' });
    close(figure(finding, 'lossShare'), 12 / 112, { abs: 5e-10, unit: '', why: 'rounding' });
    expect(others).toEqual([]);
    expect(about(11)).toEqual([]);
  });
});

describe('outputs-joined', () => {
  const two = (more: string, way: readonly string[]): Patch =>
    patchFrom(`modules:
  drums: { kind: rhythm, tempo: 60 bpm, channels: [hat, tom], gate: 50 ms, patterns: { groove: { hat: "--x- ---- --x- ----", tom: "---- --x- ---- --x-" } } }
  shape: { kind: envelope, attack: 1 ms, decay: 20 ms, release: 20 ms }
  hiss: { kind: noise }
  level: { kind: amplifier }
  out: { kind: output }
${more}
cables:
${[...way, 'shape.out -> level.control', 'hiss.white -> level.in', 'level.out -> out.left'].map((line) => `  - ${line}`).join('\n')}
`);

  it('two gates on one trigger: neither gets through', () => {
    const patch = two('  split: { kind: multiple }', [
      'drums.hat -> split.in',
      'drums.tom -> split.out-1',
      'split.out-2 -> shape.trigger',
    ]);
    const findings = serious(patch);
    expect(told(findings)).toEqual(['outputs-joined fault drums.tom']);
    // S-net-04: 2.48756 V when one of them is on, and 5 V across 2 kohm.
    close(figure(findings[0], 'drivenVolts'), 2.48756218905, {
      abs: 5e-7,
      unit: 'V',
      why: "the reference's digits",
    });
    close(figure(findings[0], 'amperes'), 0.0025, { abs: 5e-10, unit: 'A', why: 'rounding' });
    expect(firings(patch)).toEqual([]);
  });

  it('in two plugs of one jack it is one finding, not two', () => {
    const patch = two('', ['drums.hat -> shape.trigger', 'drums.tom -> shape.trigger']);
    expect(told(serious(patch))).toEqual(['outputs-joined fault drums.tom']);
  });

  it('is not found where a mixer takes both, and that fires at each stroke', () => {
    const patch = two('  both: { kind: mixer }', [
      'drums.hat -> both.in-1',
      'drums.tom -> both.in-2',
      'both.out -> shape.trigger',
    ]);
    expect(told(serious(patch))).toEqual([]);
    expectTimes(firings(patch), STROKES);
  });

  it('is not found of two closures, either of which fires', () => {
    const patch = patchFrom(`modules:
  drums: { kind: rhythm, tempo: 60 bpm, channels: [hat, tom], gate: 50 ms, patterns: { groove: { hat: "--x- ---- --x- ----", tom: "---- --x- ---- --x-" } } }
  one: { kind: trigger-converter }
  two: { kind: trigger-converter }
  split: { kind: multiple }
  shape: { kind: envelope, trigger: switch, attack: 1 ms, decay: 20 ms, release: 20 ms }
  hiss: { kind: noise }
  level: { kind: amplifier }
  out: { kind: output }
cables:
  - drums.hat -> one.voltage-in
  - drums.tom -> two.voltage-in
  - one.switch-out -> split.in
  - two.switch-out -> split.out-1
  - split.out-2 -> shape.trigger
  - shape.out -> level.control
  - hiss.white -> level.in
  - level.out -> out.left
`);
    expect(told(serious(patch))).toEqual([]);
    expectTimes(firings(patch), STROKES);
  });

  it('two outputs of no resistance have no solution, and the sound stays finite', () => {
    const patch = two(
      '  high: { kind: step-sequencer, rows: { a: [5 V] } }\n  low: { kind: step-sequencer, rows: { a: [0 V] } }\n  tone: { kind: oscillator }\n  split: { kind: multiple }\n  tick: { kind: multiple }',
      [
        'drums.hat -> shape.trigger',
        'drums.clock -> tick.in',
        'tick.out-1 -> high.clock',
        'tick.out-2 -> low.clock',
        'high.a -> split.in',
        'low.a -> split.out-1',
        'split.out-2 -> tone.pitch',
        'tone.sine -> out.right',
      ],
    );
    const [finding] = check(patch).filter(({ rule }) => rule === 'outputs-joined');
    expect(finding?.severity).toBe('fault');
    expect(finding?.message).toContain('no resistance');
    expect(Number.isFinite(loudest(patch, 1))).toBe(true);
  });

  it('sounds as Millman says, however far apart in the running order the two are', () => {
    const chain = Array.from(
      { length: 12 },
      (_, i) => `  a${i}: { kind: attenuator, level: 0 %, offset: 4 V }`,
    );
    const patch = two(`${chain.join('\n')}\n  split: { kind: multiple }`, [
      ...chain.slice(1).map((_, i) => `a${i}.out -> a${i + 1}.in`),
      'drums.hat -> split.in',
      'a11.out -> split.out-1',
      'split.out-2 -> shape.trigger',
    ]);
    const [volts] = voltsOf(patch, 0.6, 'shape.trigger');
    // (0 V or 5 V, and 4 V) through 1 kohm each, into 100 kohm.
    close((volts as Float64Array)[1000], 4 / 2.01, ROUNDING);
    close((volts as Float64Array)[0.52 * RATE], 9 / 2.01, ROUNDING);
    expect(told(serious(patch))).toEqual(['outputs-joined fault a11.out']);
  });

  it('a closure on a gate shorts it to ground', () => {
    const patch = two('  adapt: { kind: trigger-converter }\n  split: { kind: multiple }', [
      'drums.hat -> adapt.voltage-in',
      'drums.tom -> split.in',
      'adapt.switch-out -> split.out-1',
      'split.out-2 -> shape.trigger',
    ]);
    const [finding] = serious(patch);
    expect(finding?.rule).toBe('outputs-joined');
    expect(finding?.message).toContain('adapt.switch-out takes the net to ground');
    // 5 V through 1 kohm and 50 ohm.
    close(figure(finding, 'amperes'), 5 / 1050, { abs: 5e-10, unit: 'A', why: 'rounding' });
  });
});

describe('jack-doubled', () => {
  it('is found of two plugs in an output, which a multiple resolves', () => {
    const more = '  second: { kind: amplifier }\n  mix: { kind: mixer }';
    const cables = ['hiss.pink -> second.in', 'second.out -> mix.in-1', 'mix.out -> out.right'];
    const wrong = hat({ more, cables: [...cables, 'shape.out -> second.control'] });
    expect(told(serious(wrong))).toEqual(['jack-doubled fault shape.out']);
    const right = patchFrom(`modules:
  drums: { kind: rhythm, tempo: 60 bpm, channels: [hat], gate: 50 ms, patterns: { groove: { hat: "--x- --x- --x- --x-" } } }
  shape: { kind: envelope, attack: 1 ms, decay: 20 ms, release: 20 ms }
  split: { kind: multiple, jacks: 3 }
  hiss: { kind: noise }
  level: { kind: amplifier }
  out: { kind: output }
${more}
cables:
${['drums.hat -> shape.trigger', 'shape.out -> split.in', 'split.out-1 -> level.control', 'split.out-2 -> second.control', 'hiss.white -> level.in', 'level.out -> out.left', ...cables].map((line) => `  - ${line}`).join('\n')}
`);
    expect(told(serious(right))).toEqual([]);
    // It is the jack that is wrong, not the sound: the engine joins them as a multiple would.
    expect(voltsOf(wrong, 0.6, 'level.out')).toEqual(voltsOf(right, 0.6, 'level.out'));
  });

  it('is found of two plugs in a jack of a multiple', () => {
    const patch = hat({
      more: '  split: { kind: multiple }\n  second: { kind: envelope }',
      way: [
        'drums.hat -> split.in',
        'split.out-1 -> shape.trigger',
        'split.out-1 -> second.trigger',
        'second.out -> out.right',
      ],
    });
    expect(told(check(patch)).filter((one) => one.startsWith('jack'))).toEqual([
      'jack-doubled fault split.out-1',
    ]);
  });
});

describe('signal-mismatch', () => {
  const rules = (patch: Patch): string[] =>
    told(check(patch)).filter((one) => one.startsWith('signal-mismatch'));

  it('noise on a trigger, which then fires at random', () => {
    const patch = hat({ way: ['hiss.pink -> shape.trigger'] });
    expect(rules(patch)).toEqual(['signal-mismatch caution shape.trigger']);
    expect(rules(hat())).toEqual([]);
  });

  it('an oscillator on a trigger is nobody’s business', () => {
    const patch = hat({
      more: '  slow: { kind: oscillator, at-zero: 2 Hz }',
      way: ['slow.pulse -> shape.trigger'],
    });
    expect(rules(patch)).toEqual([]);
  });

  it('a gate or an envelope at the output, but not one mixed with sound', () => {
    expect(rules(hat({ cables: ['drums.run -> out.right'] }))).toEqual([
      'signal-mismatch caution out.right',
    ]);
    expect(rules(hat({ cables: ['drums.hat-accent -> out.right'] }))).toEqual([
      'signal-mismatch caution out.right',
    ]);
    const mixed = hat({
      more: '  mix: { kind: mixer }',
      cables: ['drums.start -> mix.in-1', 'hiss.pink -> mix.in-2', 'mix.out -> out.right'],
    });
    expect(rules(mixed)).toEqual([]);
  });

  it('an accent as a trigger, unless it rises with each accent', () => {
    const accents = (line: string): Patch =>
      patchFrom(`modules:
  drums: { kind: rhythm, tempo: 60 bpm, channels: [hat], gate: 50 ms, patterns: { groove: { hat: "${line}" } } }
  shape: { kind: envelope, decay: 20 ms }
  hiss: { kind: noise }
  level: { kind: amplifier }
  out: { kind: output }
cables:
  - drums.hat-accent -> shape.trigger
  - shape.out -> level.control
  - hiss.white -> level.in
  - level.out -> out.left
`);
    const held = accents('X---X---X---x---');
    expect(rules(held)).toEqual(['signal-mismatch caution shape.trigger']);
    // Of three accents in a row, one rise.
    expect(firings(held)).toHaveLength(1);
    const apart = accents('X---x---X---x---');
    expect(rules(apart)).toEqual([]);
    expect(firings(apart)).toHaveLength(2);
  });

  it('the sound and the envelope of an amplifier the wrong way round', () => {
    const patch = patchFrom(`modules:
  drums: { kind: rhythm, channels: [hat], gate: 50 ms, patterns: { groove: { hat: "x---" } } }
  shape: { kind: envelope }
  hiss: { kind: noise }
  level: { kind: amplifier }
  out: { kind: output }
cables:
  - drums.hat -> shape.trigger
  - shape.out -> level.in
  - hiss.white -> level.control
  - level.out -> out.left
`);
    expect(rules(patch)).toEqual(['signal-mismatch caution level.in']);
  });
});

describe('input-open and nothing-reaches-output', () => {
  const without = (cable: string): Patch => {
    const patch = hat();
    return {
      ...patch,
      cables: patch.cables.filter(
        ({ from, to }) => `${from.module}.${from.jack} -> ${to.module}.${to.jack}` !== cable,
      ),
    };
  };

  it.each([
    ['drums.hat -> shape.trigger', 'input-open fault shape.trigger'],
    ['shape.out -> level.control', 'input-open fault level.control'],
    ['hiss.white -> level.in', 'input-open fault level.in'],
    ['level.out -> out.left', 'nothing-reaches-output fault out.left'],
  ])('without %s there is silence', (cable, finding) => {
    const patch = without(cable);
    expect(told(serious(patch))).toEqual([finding]);
    expect(loudest(patch, 1.2)).toBe(0);
  });

  it('a voice beside the mix is told, and only its end', () => {
    const patch = hat({
      more: '  other: { kind: envelope }\n  second: { kind: amplifier }\n  split: { kind: multiple }',
      way: [
        'drums.hat -> split.in',
        'split.out-1 -> shape.trigger',
        'split.out-2 -> other.trigger',
      ],
      cables: ['other.out -> second.control', 'hiss.pink -> second.in'],
    });
    expect(told(serious(patch))).toEqual(['nothing-reaches-output fault second.out']);
  });

  it('a multiple with nothing plugged into it is told once for its net', () => {
    const patch = hat({
      more: '  split: { kind: multiple }\n  other: { kind: envelope }',
      way: [
        'split.out-1 -> shape.trigger',
        'split.out-2 -> other.trigger',
        'other.out -> out.right',
      ],
    });
    expect(told(check(patch)).filter((one) => one.startsWith('input-open'))).toEqual([
      'input-open fault shape.trigger',
    ]);
  });

  it('a module without any plug is put aside, and is no finding', () => {
    expect(told(serious(hat({ more: '  spare: { kind: amplifier }' })))).toEqual([]);
  });

  it('modules that feed only one another are told once', () => {
    const patch = hat({
      more: '  a: { kind: mixer }\n  b: { kind: mixer }',
      cables: ['a.out -> b.in-1', 'b.out -> a.in-1'],
    });
    expect(told(serious(patch))).toEqual(['nothing-reaches-output fault a.out']);
  });
});
