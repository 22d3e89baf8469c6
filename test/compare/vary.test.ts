// What --vary can be asked, and every way to ask wrongly.

import { describe, expect, it } from 'vitest';
import { gridOf, MOST_VARIANTS, type Variant } from '../../src/compare/grid.ts';
import { readVariant } from '../../src/compare/variant.ts';
import {
  ComparisonError,
  readVariations,
  type Variation,
  withFiles,
} from '../../src/compare/vary.ts';
import { example, written } from './written.ts';

/** What a variant sets. */
function setOf(variant: Variant | undefined): readonly string[] {
  return variant?.heard.type === 'patch' ? variant.heard.set : [];
}

/** The grid of one patch. */
function grid(variations: readonly Variation[], { written } = hat): readonly Variant[] {
  return gridOf([{ source: { type: 'patch', written }, variations }]);
}

const hat = example('closed-hat.yaml');
const kick = example('kick.yaml', ['parts/kick.yaml']);

function values(text: string): readonly string[] {
  return readVariations([text], hat.written, hat.patch)[0]?.values ?? [];
}

function problem(...texts: string[]): string {
  try {
    grid(readVariations(texts, hat.written, hat.patch));
  } catch (error) {
    if (error instanceof ComparisonError) return error.message;
    throw error;
  }
  return '';
}

describe('readVariations', () => {
  it('reads a list, writing each value one way', () => {
    expect(values('shape.decay=20ms,0.06 s,200ms')).toEqual(['20 ms', '60 ms', '200 ms']);
    expect(values('bright.cutoff=7500 Hz, 9kHz')).toEqual(['7.5 kHz', '9 kHz']);
  });

  it('reads choices, flags, the seed and what lies inside patterns', () => {
    expect(values('level.response=linear,exponential')).toEqual(['linear', 'exponential']);
    expect(values('seed=a,b,c')).toEqual(['a', 'b', 'c']);
    expect(values('drums.patterns.groove.hat.swing=50%,58%')).toEqual(['50%', '58%']);
  });

  it('keeps a value in brackets or quotation marks whole', () => {
    expect(values('drums.song=[groove],[groove, groove]')).toEqual([
      '[groove]',
      '[groove, groove]',
    ]);
  });

  it('reads ranges, and ranges beside single values', () => {
    // 10, 100, 1000: equal ratios.
    expect(values('shape.decay=10ms..1s/3')).toEqual(['10 ms', '100 ms', '1 s']);
    expect(values('accent.level=-50%..50%/3')).toEqual(['-50 %', '0 %', '50 %']);
    expect(values('shape.decay=1ms,10ms..40 ms/3')).toEqual(['1 ms', '10 ms', '20 ms', '40 ms']);
  });

  it('reads settings of parts', () => {
    const [one] = readVariations(['kick.fall.decay=40ms..90ms/2'], kick.written, kick.patch);
    expect(one).toEqual({ path: 'kick.fall.decay', values: ['40 ms', '90 ms'] });
  });

  it('reads what is plugged into an input', () => {
    expect(values('bright.in=hiss.white,hiss.pink')).toEqual(['hiss.white', 'hiss.pink']);
    const [, pink] = grid(
      readVariations(['bright.in=hiss.white,hiss.pink'], hat.written, hat.patch),
    );
    expect(pink).toMatchObject({
      name: 'hiss.pink -> bright.in',
      file: '02-hiss.pink-bright.in.wav',
    });
    const { patch } = readVariant(hat.written, setOf(pink));
    expect(patch?.cables.filter(({ to }) => to.module === 'bright')).toMatchObject([
      { from: { module: 'hiss', jack: 'pink' } },
    ]);
  });

  it('reads files of a part and racks that only variants have', () => {
    const files: Record<string, string> = {
      'short.yaml': (kick.written.texts['parts/kick.yaml'] as string).replace(
        /decay: [0-9.]+ ms/,
        'decay: 9 ms',
      ),
      'rack.yaml': 'title: Small\nunits: {}\n',
    };
    const vary = ['kick=parts/kick.yaml,short.yaml', 'rack=rack.yaml'];
    const all = withFiles(vary, kick.written, kick.patch, (path) => files[path]);
    expect(Object.keys(all.texts).sort()).toEqual([
      'parts/kick.yaml',
      'rack.yaml',
      'short.yaml',
      'test.yaml',
    ]);
    const rows = grid(readVariations(vary, all, kick.patch));
    expect(rows.map((row) => readVariant(all, setOf(row)).problems)).toEqual([[], []]);
    expect(() => readVariations(['kick=parts/kick.yaml,none.yaml'], all, kick.patch)).toThrow(
      /^--vary:1:6: there is no file "none.yaml"/,
    );
  });

  it('reads no rack beside racks', () => {
    const rack = 'racks/teaching-cabinet.yaml';
    const owned = written(
      `rack: ${rack}\nmodules: { hiss: { kind: noise }, out: { kind: output } }\ncables: [hiss.white -> out.left]\n`,
      [rack],
    );
    const read = (vary: string) => withFiles([vary], owned.written, owned.patch, () => undefined);
    // A file of that name has its folder in front.
    expect(() => read('rack=./none')).toThrow(/there is no file "(.\/)?none"/);
    const vary = `rack=none,${rack}`;
    const all = read(vary);
    const rows = grid(readVariations([vary], all, owned.patch));
    const racks = rows.map((row) => readVariant(all, setOf(row)).patch?.owned?.file);
    expect(racks).toEqual([undefined, rack]);
  });

  it('says why a file of a variant is not read', () => {
    const read = (): unknown =>
      withFiles(['kick=parts/kick.yaml,long.yaml'], kick.written, kick.patch, () => ({
        why: 'is a folder',
      }));
    expect(read).toThrow(/^--vary:1:6: the file "long.yaml" is a folder/);
  });

  it('says which variant makes lines of the file wrong', () => {
    const files: Record<string, string> = { 'other.yaml': 'modules: { hum: { kind: noise } }' };
    const read = (): unknown =>
      withFiles(['kick=other.yaml'], kick.written, kick.patch, (path) => files[path]);
    expect(read).toThrow(
      /^--vary kick=other.yaml: with that, the patch has\n[\s\S]*no module "kick.gate"/,
    );
  });

  it('names the nearest setting and module, with the place in the option', () => {
    expect(problem('shape.dekay=20ms,30ms')).toMatch(
      /^--vary:1:7: .*dekay[\s\S]*\^{5}[\s\S]*did you mean decay\?$/,
    );
    expect(problem('shap.decay=20ms..1s/8')).toMatch(/no module "shap"[\s\S]*did you mean shape\?/);
  });

  it.each([
    ['shape.decay=20', /has no unit/],
    ['shape.decay=20ms,5 kHz', /is a time, and kHz is the unit of a frequency/],
    ['level.response=linear,cubic', /cannot be "cubic"/],
    ['shape.decay', /varies nothing/],
    ['=20ms', /varies nothing/],
    ['shape.decay=20ms,,30ms', /a value is missing/],
    ['shape.decay=', /a value is missing/],
    ['shape.decay=20ms..1s', /how many values/],
    ['shape.decay=20ms..1s/1', /from 2 to 1024/],
    ['shape.decay=20ms..1s/x', /how many values/],
    ['shape.decay=20ms..1s/9999', /from 2 to 1024/],
    ['shape.attack=0s..1s/4', /neither end of the range can be 0/],
    ['shape.decay=1s..1000ms/4', /both ends of the range are the same/],
    ['shape.decay=20ms..1e9s/4', /out of range/],
    ['drums.gate=8ms..50%/4', /from a time to a time/],
    ['drums.clock=1 per step..4 per step/2', /not a single number/],
    ['shape.decay=20ms,0.02s', /has 20 ms twice/],
    ['rack=a.yaml,b.yaml', /there is no file "a.yaml"/],
    ['bright.in=hiss.white,hiss.pnk', /no jack "pnk"[\s\S]*did you mean pink\?/],
    ['bright.in=hiss.pink,hiss.pink', /has hiss.pink twice/],
    [
      'soft.in=bright.high,hiss.white',
      /hiss.white is plugged into bright.in already[\s\S]*multiple/,
    ],
    ['bright.in=hiss.white..hiss.pink/2', /no jack|not name|range|single number/],
    ['title=a,b', /no "title" is heard/],
  ])('refuses %s', (text, message) => {
    expect(problem(text)).toMatch(message);
  });

  it('refuses a setting that is varied twice', () => {
    expect(problem('shape.decay=20ms,30ms', 'shape.decay=1s,2s')).toMatch(/varied twice/);
  });
});

describe('gridOf', () => {
  it('takes every value with every other, the last setting fastest', () => {
    const rows = grid([
      { path: 'shape.decay', values: ['20 ms', '60 ms'] },
      { path: 'bright.q', values: ['0.7', '2', '5'] },
    ]);
    expect(rows.map((row) => setOf(row).join(' '))).toEqual([
      'shape.decay=20 ms bright.q=0.7',
      'shape.decay=20 ms bright.q=2',
      'shape.decay=20 ms bright.q=5',
      'shape.decay=60 ms bright.q=0.7',
      'shape.decay=60 ms bright.q=2',
      'shape.decay=60 ms bright.q=5',
    ]);
    expect(rows[4]).toMatchObject({
      number: 5,
      name: 'shape.decay 60 ms, bright.q 2',
      settings: { 'shape.decay': '60 ms', 'bright.q': '2' },
      file: '05-shape.decay-60-ms-bright.q-2.wav',
    });
  });

  it('keeps the rests of a pattern in the name of its clip', () => {
    // The last two begin with a rest; in the second of them the 2 is a ratchet, and no number.
    const values = ['x--x', 'x-x-', 'x---', '-x--', '-2--'];
    const variations = [{ path: 'drums.patterns.groove.hat', values }];
    expect(grid(variations).map(({ file }) => file)).toEqual([
      '01-drums.patterns.groove.hat-x--x.wav',
      '02-drums.patterns.groove.hat-x-x-.wav',
      '03-drums.patterns.groove.hat-x---.wav',
      '04-drums.patterns.groove.hat--x--.wav',
      '05-drums.patterns.groove.hat--2--.wav',
    ]);
  });

  it('has every variant of every patch, with the name of its patch in front', () => {
    const variations = [{ path: 'seed', values: ['a', 'b'] }];
    const rows = gridOf([
      { source: { type: 'patch', written: hat.written }, variations, name: 'hat' },
      { source: { type: 'patch', written: kick.written }, variations, name: 'kick' },
      { source: { type: 'recording', path: 'real.wav' }, variations: [], name: 'real' },
    ]);
    expect(rows.map(({ name, file }) => [name, file])).toEqual([
      ['hat, seed a', '01-hat-seed-a.wav'],
      ['hat, seed b', '02-hat-seed-b.wav'],
      ['kick, seed a', '03-kick-seed-a.wav'],
      ['kick, seed b', '04-kick-seed-b.wav'],
      ['real', '05-real.wav'],
    ]);
    const set = (value: string): string[] => [`seed=${value}`];
    expect(rows.map(({ heard }) => heard)).toEqual([
      { type: 'patch', written: hat.written, set: set('a') },
      { type: 'patch', written: hat.written, set: set('b') },
      { type: 'patch', written: kick.written, set: set('a') },
      { type: 'patch', written: kick.written, set: set('b') },
      { type: 'recording', path: 'real.wav' },
    ]);
  });

  it('gives files names of their own that every system takes', () => {
    const rows = grid([{ path: 'seed', values: ['a/b', 'a b', '..', '-60 %', '60 %', 'é'] }]);
    const names = rows.map(({ file }) => file);
    expect(new Set(names).size).toBe(names.length);
    for (const name of names) expect(name).toMatch(/^\d\d-[A-Za-z0-9.-]{1,80}\.wav$/);
  });

  it('keeps the values in the name of a file whose patch has a long name, and letters without accents', () => {
    const variations = readVariations(['shape.decay=20ms,60ms'], hat.written, hat.patch);
    const source = { type: 'patch', written: hat.written } as const;
    const [long, , accents] = gridOf([
      { source, variations, name: 'a-very-long-name'.repeat(10) },
      { source, variations, name: 'Größere Glöckchen, 鐘' },
    ]);
    expect(long?.file).toMatch(/^01-a-very-long-name.*-shape\.decay-20-ms\.wav$/);
    expect(long?.file.length).toBeLessThanOrEqual('01-'.length + 80 + '.wav'.length);
    expect(accents?.file).toBe('03-Grossere-Glockchen-shape.decay-20-ms.wav');
  });

  it('cuts the longest of the values where they are too many, and writes a minus before a number', () => {
    const path = 'drums.patterns.groove.hat';
    const values = ['x-'.repeat(32), 'X-'.repeat(32)];
    const names = grid([
      { path, values },
      { path: 'accent.offset', values: ['-1 V', '-2.5 V'] },
    ]).map(({ file }) => file);
    expect(names).toHaveLength(4);
    for (const [index, name] of names.entries()) {
      const volts = index % 2 === 0 ? 'minus1' : 'minus2\\.5';
      expect(name).toMatch(
        new RegExp(`^0${index + 1}-${path}.*-accent\\.offset-${volts}-V\\.wav$`),
      );
      expect(name.length).toBeLessThanOrEqual('01-'.length + 80 + '.wav'.length);
    }
  });

  it('refuses more than 1024, and says how many there would be', () => {
    expect(MOST_VARIANTS).toBe(1024);
    expect(problem('shape.decay=1ms..1s/33', 'bright.q=0.5..5/32')).toMatch(
      /a grid of 1056 variants \(33 times 32\), and at most 1024/,
    );
    expect(problem('shape.decay=1ms..1s/32', 'bright.q=0.5..5/32')).toBe('');
  });
});
