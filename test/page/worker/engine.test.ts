// The engine answers as the page needs it, and what it plays is what the command line writes.

import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { renderClip } from '../../../src/output/clip.ts';
import type { PatchChange, SoundStretch } from '../../../src/page/protocol.ts';
import { readFiles } from '../../../src/page/worker/reading.ts';
import type { Patch } from '../../../src/patch/patch.ts';
import { close } from '../../close.ts';
import { EXAMPLES, filesOf, Page, TEXTS } from './harness.ts';

const SUMS = {
  abs: 5e-10,
  unit: 's or LU',
  why: 'fed in other stretches, sums of doubles round otherwise',
};

const folder = mkdtempSync(join(tmpdir(), 'forehear-engine-'));
afterAll(() => rmSync(folder, { recursive: true }));

const KIT = 'patches/two-bar-kit.yaml';
const HAT = 'patches/closed-hat.yaml';

/** Whether samples are the same to the last bit. */
function isSame(a: readonly Float32Array[], b: readonly Float32Array[]): boolean {
  return (
    a.length === b.length &&
    a.every((samples, index) => Buffer.compare(bytesOf(samples), bytesOf(b[index])) === 0)
  );
}

function bytesOf(samples: Float32Array = new Float32Array(0)): Uint8Array {
  return new Uint8Array(samples.buffer, samples.byteOffset, samples.byteLength);
}

describe('a loop', () => {
  // Against the command's own way to the file: the bytes, and the samples that a 24-bit file holds.
  it.each(EXAMPLES)('of %s is what render --loop writes', { timeout: 60_000 }, async (main) => {
    const page = new Page();
    const open = page.send({ type: 'open', files: filesOf(main) });
    const { state } = await page.answer(open, 'state');
    expect(state.problems).toEqual([]);
    expect(state.view?.loop.shortened).toBe(false);
    const { channels } = await page.loop(open);
    const { wav } = await page.answer(page.send({ type: 'clip' }), 'clip');

    const path = join(folder, 'clip.wav');
    const { files } = await renderClip(readFiles(filesOf(main)).patch as Patch, {
      path,
      sampleRate: 48_000,
      depth: '24',
      length: { unit: 'song' },
      tail: { unit: 'silence' },
      loop: true,
      stems: false,
      taps: [],
    });
    const bytes = readFileSync(path);
    expect(Buffer.compare(bytes, wav)).toBe(0);
    expect(files[0]?.channels).toBe(channels.length);
    const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
    let worst = 0;
    const start = bytes.indexOf('data') + 8;
    channels.forEach((samples, channel) => {
      for (let frame = 0; frame < samples.length; frame++) {
        const at = start + 3 * (frame * channels.length + channel);
        const code = view.getUint16(at, true) + view.getInt8(at + 2) * 65_536;
        worst = Math.max(worst, Math.abs((samples[frame] as number) * 2 ** 23 - code));
      }
    });
    // Half a step of 24 bits is rounding, another half that of single precision near full scale.
    expect(worst).toBeLessThanOrEqual(1);
  });

  it('of so many bars is as long as these', async () => {
    const page = new Page();
    page.send({ type: 'open', files: filesOf(KIT) });
    const id = page.send({ type: 'length', bars: 1 });
    const { state } = await page.answer(id, 'state');
    // Four quarters at 92 bpm.
    expect(state.view?.loop.frames).toBe(Math.round((4 * 60 * 48_000) / 92));
    expect(state.view?.loop.bars).toEqual([0]);
  });

  it('of a long song is its first bars, as many as fit into a minute', async () => {
    const page = new Page();
    const files = filesOf(HAT, ['drums.song=[{ pattern: groove, repeats: 400 }]']);
    const { state } = await page.answer(page.send({ type: 'open', files }), 'state');
    expect(state.problems).toEqual([]);
    const { loop } = state.view as NonNullable<typeof state.view>;
    expect(loop.shortened).toBe(true);
    expect(loop.frames / 48_000).toBeLessThanOrEqual(60);
    expect((loop.frames / 48_000) * (1 + 1 / loop.bars.length)).toBeGreaterThan(60);
  });

  it('is handed over only once there is as much of it as is asked for, and is the same', async () => {
    const page = new Page();
    const change = { type: 'setting', module: 'mix', setting: 'level-1', text: '20 %' } as const;
    await page.loop(page.send({ type: 'open', files: filesOf(KIT) }));
    const heard = { at: 0, until: 0.6 };
    const [id, plain] = [page.send({ type: 'change', change, heard }), new Page()];
    const loop = await page.loop(id);
    const first = page.answers.find((one) => one.type === 'sound' && one.id === id);
    const { sound } = first as Extract<typeof first, { type: 'sound' }>;
    expect(sound.from).toBe(0);
    expect(sound.channels[0]?.length).toBeGreaterThanOrEqual(0.6 * sound.frames);
    await plain.loop(plain.send({ type: 'open', files: filesOf(KIT) }));
    const same = await plain.loop(plain.send({ type: 'change', change }));
    expect(isSame(loop.channels, same.channels)).toBe(true);
    expect(isSame([loop.probe], [same.probe])).toBe(true);
  });

  /** The loop after a change that is heard from nowhere: once for all places that it is begun at. */
  let plainly: ReturnType<Page['loop']> | undefined;
  async function plainlyChanged(change: PatchChange): ReturnType<Page['loop']> {
    const plain = new Page();
    await plain.loop(plain.send({ type: 'open', files: filesOf(KIT) }));
    return plain.loop(plain.send({ type: 'change', change }));
  }

  // Places before the start, in the middle, and where what must be there reaches into the next round.
  it.each([
    [0.001, 0.2],
    [0.52, 0.7],
    [0.9, 1.1],
  ])('is begun where it is heard, at %s, and is the same', async (at, until) => {
    const page = new Page();
    const change = (text: string) =>
      ({ type: 'setting', module: 'hats.closed-shape', setting: 'release', text }) as const;
    await page.loop(page.send({ type: 'open', files: filesOf(KIT) }));
    await page.loop(page.send({ type: 'change', change: change('80 ms') }));
    const heard = { at, until };
    const id = page.send({ type: 'change', change: change('30 ms'), heard });
    const loop = await page.loop(id);
    const pieces = page.answers.flatMap((one) =>
      one.type === 'sound' && one.id === id && one.sound.channels.length > 0 ? [one.sound] : [],
    );
    const [first] = pieces as [SoundStretch];
    // To the block.
    expect(first.from).toBeLessThanOrEqual(at * first.frames);
    expect(first.from).toBeGreaterThan(at * first.frames - 128);
    const there = pieces
      .filter(({ isWhole }) => !isWhole)
      .map(({ channels: [all] }) => all?.length);
    expect(there.reduce<number>((sum, count = 0) => sum + count, 0)).toBe(first.frames);
    plainly ??= plainlyChanged(change('30 ms'));
    expect(isSame(loop.channels, (await plainly).channels)).toBe(true);
  });

  it('leaves off for a newer request', async () => {
    const page = new Page();
    const first = page.send({ type: 'open', files: filesOf(KIT) });
    const second = page.send({
      type: 'change',
      change: { type: 'setting', module: 'mix', setting: 'level-1', text: '20 %' },
    });
    await page.loop(second);
    const pieces = page.answers.filter((one) => one.type === 'sound' && one.id === first);
    expect(pieces.every((one) => one.type === 'sound' && !one.sound.isWhole)).toBe(true);
  });
});

describe('a change', () => {
  const moves: readonly [
    main: string,
    module: string,
    setting: string,
    texts: readonly string[],
  ][] = [
    [KIT, 'hats.closed-shape', 'release', ['80 ms', '2 s', '20 ms']],
    [KIT, 'hats.hiss', 'level', ['1 V', '2 V']],
    [KIT, 'mix', 'level-2', ['20 %', '100 %']],
    [KIT, 'drums', 'swing', ['66 %', '50 %']],
    ['patches/toms.yaml', 'left', 'level-1', ['20 %', '30 %']],
  ];
  it.each(moves)(
    'of %s %s.%s sounds as if it had always been so',
    async (main, module, setting, texts) => {
      const page = new Page();
      await page.loop(page.send({ type: 'open', files: filesOf(main) }));
      for (const text of texts) {
        const id = page.send({
          type: 'change',
          change: { type: 'setting', module, setting, text },
        });
        const { state } = await page.answer(id, 'state');
        const moved = await page.loop(id);
        // By then what does not change has been kept.
        await page.answer(id, 'charts');
        const fresh = new Page();
        const whole = await fresh.loop(fresh.send({ type: 'open', files: state.files }));
        fresh.end();
        // Only what changed was played: to the last bit the same.
        expect(isSame(moved.channels, whole.channels)).toBe(true);
      }
    },
  );

  it('of another voice, of a probe and of a voice heard in between changes nothing of the sound', async () => {
    const page = new Page();
    await page.loop(page.send({ type: 'open', files: filesOf(KIT) }));
    const change = (module: string, setting: string, text: string) =>
      page.send({ type: 'change', change: { type: 'setting', module, setting, text } });
    page.send({ type: 'probe', jack: 'kick.level.out' });
    await page.answer(change('hats.closed-shape', 'release', '80 ms'), 'charts');
    const probed = await page.loop(change('hats.closed-shape', 'release', '90 ms'));
    const voiced = page.send({ type: 'voice', voice: 'snare' });
    await page.loop(voiced);
    const id = change('snare.both', 'level-1', '33 %');
    const { state } = await page.answer(id, 'state');
    const moved = await page.loop(id);
    const fresh = new Page();
    fresh.send({ type: 'open', files: state.files });
    const whole = await fresh.loop(fresh.send({ type: 'probe', jack: 'kick.level.out' }));
    expect(isSame(moved.channels, whole.channels)).toBe(true);
    expect(isSame([moved.probe], [whole.probe])).toBe(true);
    expect(isSame([probed.probe], [whole.probe])).toBe(true);
    expect(whole.probe.some((volts) => volts !== 0)).toBe(true);
  });

  it('that the reader refuses is refused in its words, and nothing is lost', async () => {
    const page = new Page();
    page.send({ type: 'open', files: filesOf(HAT) });
    const ask = (setting: string, text: string) =>
      page.answer(
        page.send({ type: 'change', change: { type: 'setting', module: 'shape', setting, text } }),
        'refused',
      );
    expect((await ask('decay', '55')).message).toBe(
      '"decay" has no unit\nexpected a time such as 100 ms (or 16 ms tau), from 0 s to 60 s',
    );
    expect((await ask('decay', '99 h')).message).toContain('there is no unit "h"');
    expect((await ask('mode', 'trigge')).message).toContain('did you mean trigger?');
    expect((await ask('decai', '55 ms')).message).toContain('no setting "decai"');
    expect((await ask('decay', 'dial 3')).message).toContain('no rack says');
    expect((await ask('decay', '1 ms }, evil: { kind: noise')).message).toContain('not a time');
    const id = page.send({
      type: 'change',
      change: { type: 'setting', module: 'shape', setting: 'decay', text: '77 ms' },
    });
    expect((await page.answer(id, 'state')).state.files.texts[HAT]).toBe(
      TEXTS[HAT]?.replace(/decay: \d+ ms/, 'decay: 77 ms'),
    );
  });

  it('wins over the command line, which then has it no more', async () => {
    const page = new Page();
    page.send({ type: 'open', files: filesOf(HAT, ['shape.decay=1 s', 'seed=other']) });
    const id = page.send({
      type: 'change',
      change: { type: 'setting', module: 'shape', setting: 'decay', text: '77 ms' },
    });
    const { state } = await page.answer(id, 'state');
    expect(state.files.set).toEqual(['seed=other']);
    const shape = state.view?.modules.find(({ name }) => name === 'shape');
    expect(shape?.settings.find(({ name }) => name === 'decay')?.text).toBe('77 ms');
  });
});

describe('texts with faults', () => {
  it('show them as the command line does, and the last good patch stays', async () => {
    const page = new Page();
    await page.loop(page.send({ type: 'open', files: filesOf(HAT) }));
    const broken = {
      ...filesOf(HAT),
      texts: { ...TEXTS, [HAT]: `${TEXTS[HAT]}\n  - hiss.pnk -> out.right\n` },
    };
    const { state } = await page.answer(page.send({ type: 'open', files: broken }), 'state');
    expect(state.view).toBeUndefined();
    expect(state.files).toEqual(broken);
    const line = (TEXTS[HAT] as string).split('\n').length + 1;
    expect(state.problems.map(({ file, text }) => [file, text.split('\n')[0]])).toEqual([
      [HAT, `${HAT}:${line}:10: "hiss" has no jack "pnk"`],
    ]);
    // The last good patch can still be heard and saved.
    await page.loop(page.send({ type: 'length', bars: 1 }));
    expect((await page.answer(page.send({ type: 'clip' }), 'clip')).wav.length).toBeGreaterThan(
      1000,
    );
  });

  it.each([
    ['no output', 'modules: { hiss: { kind: noise } }', 'no output module'],
    ['two outputs', 'modules: { a: { kind: output }, b: { kind: output } }', 'one output module'],
    ['nothing', '', 'the file is empty'],
  ])('such as %s are told', async (_, text, message) => {
    const page = new Page();
    const files = { main: 'a.yaml', set: [], texts: { 'a.yaml': text } };
    const { state } = await page.answer(page.send({ type: 'open', files }), 'state');
    expect(state.problems[0]?.text).toContain(message);
  });

  it('before any good ones leave nothing to change or to save', async () => {
    const page = new Page();
    page.send({ type: 'open', files: { main: 'a.yaml', set: [], texts: {} } });
    await page.answer(page.send({ type: 'clip' }), 'refused');
    const change = { type: 'setting', module: 'a', setting: 'b', text: 'c' } as const;
    await page.answer(page.send({ type: 'change', change }), 'refused');
  });
});

describe('the outline', () => {
  const level = { type: 'setting', module: 'drums', setting: 'level' } as const;

  it('follows a change, but after its sound', async () => {
    const page = new Page();
    const open = page.send({ type: 'open', files: filesOf(HAT) });
    const first = (await page.answer(open, 'outline')).outline;
    // 5 V and 8 V from 1 kOhm into 100 kOhm: times 100/101, to a thousandth.
    expect(first.parts.volts).toContain('<td>4.95 V</td>');
    const id = page.send({ type: 'change', change: { ...level, text: '8 V' } });
    const { outline } = await page.answer(id, 'outline');
    expect(outline.parts.volts).toContain('<td>7.921 V</td>');
    const kinds = page.answers.filter((one) => one.id === id);
    const whole = kinds.findLastIndex((one) => one.type === 'sound' && one.sound.isWhole);
    expect(whole).toBeGreaterThanOrEqual(0);
    expect(kinds.findIndex((one) => one.type === 'outline')).toBeGreaterThan(whole);
    // What a setting does not touch need not be drawn again.
    expect([outline.figures, outline.parts.cables]).toEqual([first.figures, first.parts.cables]);
  });

  it('is told once for the same texts', async () => {
    const page = new Page();
    page.send({ type: 'open', files: filesOf(HAT) });
    await page.answer(1, 'findings');
    await page.answer(page.send({ type: 'probe', jack: 'shape.out' }), 'charts');
    expect(page.answers.filter(({ type }) => type === 'outline').length).toBe(1);
  });

  it('is told of what cannot be heard, too, and the one before does not come back', async () => {
    const page = new Page();
    await page.answer(page.send({ type: 'open', files: filesOf(HAT) }), 'outline');
    const text = 'modules: { hiss: { kind: noise }, level: { kind: amplifier } }\ncables: []\n';
    const silent = { main: 'a.yaml', set: [], texts: { 'a.yaml': text } };
    const id = page.send({ type: 'open', files: silent });
    expect((await page.answer(id, 'outline')).outline.parts.facts).toContain('<dd>2</dd>');
    await page.answer(page.send({ type: 'probe', jack: 'shape.out' }), 'charts');
    expect(page.answers.findLast(({ type }) => type === 'outline')?.id).toBe(id);
  });
});

describe('the score', () => {
  const set = (module: string, setting: string, text: string) =>
    ({ type: 'change', change: { type: 'setting', module, setting, text } }) as const;

  it('is drawn again for what it shows, and when other texts are opened', async () => {
    const page = new Page();
    const drawn = () => page.answers.filter(({ type }) => type === 'score').length;
    await page.answer(page.send({ type: 'open', files: filesOf(HAT) }), 'findings');
    expect(drawn()).toBe(1);
    await page.answer(page.send(set('bright', 'cutoff', '3 kHz')), 'findings');
    expect(drawn()).toBe(1);
    await page.answer(page.send(set('drums', 'tempo', '99 bpm')), 'findings');
    expect(drawn()).toBe(2);
    await page.answer(page.send({ type: 'open', files: filesOf(HAT) }), 'findings');
    expect(drawn()).toBe(3);
  });
});

describe('pictures', () => {
  it('and findings follow the sound', { timeout: 60_000 }, async () => {
    const page = new Page();
    const files = filesOf(KIT, ['hats.closed-shape.attack=1 s']);
    page.send({ type: 'open', files });
    page.send({ type: 'voice', voice: 'kick.level.out' });
    const id = page.send({ type: 'probe', jack: 'hats.closed-shape.out' });
    const { charts } = await page.answer(id, 'charts');
    expect(charts.map(({ name }) => name)).toEqual(['envelope', 'spectrum', 'volts', 'volts']);
    for (const { svg } of charts) expect(svg).toMatch(/^<svg [\s\S]*<\/svg>\s*$/);
    const { score, parts } = await page.answer(id, 'score');
    expect(parts.answers).toContain('kick.loudness.trigger');
    expect(score[0]?.from).toBe(0);
    // Two bars of four quarters at 92 bpm.
    close(score.at(-1)?.to ?? Number.NaN, (8 * 60) / 92, SUMS);
    for (const { left, right, width } of score) {
      expect(left).toBeGreaterThan(0);
      expect(right).toBeGreaterThan(left);
      expect(right).toBeLessThanOrEqual(width);
    }
    const { parts: found } = await page.answer(id, 'findings');
    expect(found.findings).toMatch(/<tr class="(?:fault|caution)">/);
    expect(found.summary).toMatch(/The check finds .*(?:fault|caution)/);
  });

  it('give the loudness and the peak that the command line gives', async () => {
    const page = new Page();
    const id = page.send({ type: 'open', files: filesOf(HAT) });
    const { sound } = await page.answer(id, 'sound', (one) => one.sound.peakDbfs !== undefined);
    const { files } = await renderClip(readFiles(filesOf(HAT)).patch as Patch, {
      path: join(folder, 'loud.wav'),
      sampleRate: 48_000,
      depth: '24',
      length: { unit: 'song' },
      tail: { unit: 'silence' },
      loop: true,
      stems: false,
      taps: [],
    });
    expect(sound.peakDbfs).toBe(files[0]?.peakDbfs);
    // Fed in other stretches, the sums round otherwise: parts in 1e12 at the most.
    close(sound.loudnessLufs ?? Number.NaN, files[0]?.loudnessLufs as number, SUMS);
  });
});
