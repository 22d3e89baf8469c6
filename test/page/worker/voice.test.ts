// One voice alone, the mix without it, and single strokes, against superposition (a mixer adds up, so
// one voice and all others are the mix), against patches written by hand, and against a cable pulled.

import { describe, expect, it } from 'vitest';
import { Take } from '../../../src/engine/take.ts';
import { LoopLoudnessMeter } from '../../../src/measure/loudness/loop-loudness.ts';
import type { Solo, VoiceView } from '../../../src/page/protocol.ts';
import { readFiles } from '../../../src/page/worker/reading.ts';
import { strokeOf } from '../../../src/page/worker/voices/stroke.ts';
import type { Patch } from '../../../src/patch/patch.ts';
import type { PatchTexts } from '../../../src/patch/texts.ts';
import { close } from '../../close.ts';
import { filesOf, Page } from './harness.ts';

const KIT = 'patches/two-bar-kit.yaml';
const ROOM = 'patches/next-room.yaml';

/** The first bar of a patch, round and round, of which one voice is heard alone, or left out. */
async function heard(files: PatchTexts, solo?: Solo): Promise<readonly Float32Array[]> {
  const page = new Page();
  page.send({ type: 'open', files });
  page.send({ type: 'length', bars: 1 });
  return (await page.loop(page.send({ type: 'solo', solo }))).channels;
}

async function viewsOf(files: PatchTexts): Promise<readonly VoiceView[]> {
  const page = new Page();
  const { state } = await page.answer(page.send({ type: 'open', files }), 'state');
  return state.view?.voices ?? [];
}

function worst(a: Float32Array | undefined, b: readonly number[]): number {
  return b.reduce((most, sample, at) => Math.max(most, Math.abs(sample - (a?.[at] ?? 0))), 0);
}

function sum(...all: readonly (Float32Array | undefined)[]): readonly number[] {
  return [...(all[0] ?? [])].map((_, at) =>
    all.reduce((total, samples) => total + (samples?.[at] ?? 0), 0),
  );
}

describe('a voice', () => {
  it('alone and all without it are the mix', async () => {
    const voice = 'snare';
    const files = filesOf(KIT);
    const [mix] = await heard(files);
    const [alone] = await heard(files, { voice, isAlone: true });
    const [without] = await heard(files, { voice, isAlone: false });
    expect(alone?.some((sample) => sample !== 0)).toBe(true);
    // Each leaves off its tail where it is under -90 dBFS; it is another place in each.
    expect(worst(mix, sum(alone, without))).toBeLessThan(0.0000317);
  });

  it('alone is as if the cables of the others had been pulled, through what is shared too', async () => {
    const files = filesOf(ROOM);
    const text = files.texts[files.main] ?? '';
    const pulled = {
      ...files,
      texts: { ...files.texts, [files.main]: text.replace(/^ *- (duck\.out|metal\.up) .*$/gm, '') },
    };
    const alone = await heard(files, { voice: 'drum', isAlone: true });
    const by = await heard(pulled);
    expect(alone).toEqual(by);
    // The drum still pushes the hiss aside, where the hiss alone is heard.
    const hiss = await heard(files, { voice: 'hiss', isAlone: true });
    const unpushed = await heard(
      {
        ...files,
        texts: { ...files.texts, [files.main]: text.replace(/^ *- both\.out-2 .*$/m, '') },
      },
      { voice: 'hiss', isAlone: true },
    );
    expect(hiss).not.toEqual(unpushed);
  });

  it('alone follows a change, and the clip stays the mix', async () => {
    const page = new Page();
    page.send({ type: 'open', files: filesOf(KIT) });
    page.send({ type: 'length', bars: 1 });
    const { wav } = await page.answer(page.send({ type: 'clip' }), 'clip');
    await page.loop(page.send({ type: 'solo', solo: { voice: 'snare', isAlone: true } }));
    const same = await page.answer(page.send({ type: 'clip' }), 'clip');
    expect(Buffer.compare(same.wav, wav)).toBe(0);
    const change = {
      type: 'setting',
      module: 'snare.both',
      setting: 'level-1',
      text: '33 %',
    } as const;
    const id = page.send({ type: 'change', change });
    const { state } = await page.answer(id, 'state');
    const moved = await page.loop(id);
    expect(moved.channels).toEqual(await heard(state.files, { voice: 'snare', isAlone: true }));
  });

  it('has its level in the mix measured as it is heard alone', async () => {
    const files = filesOf(KIT);
    const page = new Page();
    page.send({ type: 'open', files });
    page.send({ type: 'length', bars: 1 });
    const { level } = await page.answer(page.send({ type: 'voice', voice: 'hats' }), 'charts');
    const alone = await heard(files, { voice: 'hats', isAlone: true });
    const mix = await heard(files);
    const [own, whole] = [alone, mix].map((channels) => {
      const meter = new LoopLoudnessMeter(48_000, channels.length);
      meter.add(
        channels.map((samples) => Float64Array.from(samples)),
        channels[0]?.length ?? 0,
      );
      return meter.integrated();
    });
    const why = 'single precision, and sums in another order';
    close(level?.lufs ?? 0, own ?? 0, { abs: 0.001, unit: 'LU', why });
    close(level?.under ?? 0, (whole ?? 0) - (own ?? 0), { abs: 0.001, unit: 'LU', why });
  });

  it('says where its level is set, what starts it, and with which note', async () => {
    const views = await viewsOf(filesOf(KIT));
    expect(views.map(({ name, levels, isPart }) => [name, isPart, levels])).toEqual([
      ['kick', true, [{ module: 'mix', setting: 'level-1' }]],
      ['snare', true, [{ module: 'mix', setting: 'level-2' }]],
      ['hats', true, [{ module: 'mix', setting: 'level-3' }]],
    ]);
    // General MIDI Level 1 percussion key map: bass drum 1, acoustic snare, closed and open hi-hat.
    expect(views.map(({ channels }) => channels.map(({ note }) => note))).toEqual([
      [36],
      [38],
      [42, 46],
    ]);
  });
});

describe('a stroke', () => {
  const around = { breathe: async () => {}, now: () => performance.now() };
  const stroke = (files: PatchTexts, voice: string, channel: string, isAccented: boolean) =>
    strokeOf(
      readFiles(files).patch as Patch,
      { voice, module: 'drums', channel, isAccented },
      around,
    );

  it.each([
    ['plain', false, 'x'],
    ['accented', true, 'X'],
  ])('%s is the first one of a patch that plays no other', async (_, isAccented, sign) => {
    const files = filesOf('patches/closed-hat.yaml');
    const text = (files.texts[files.main] ?? '').replace(
      /groove: .*$/m,
      `groove: { hat: "${sign}${'-'.repeat(31)}" }`,
    );
    expect(text).toContain(`"${sign}-`);
    const { patch } = readFiles({ ...files, texts: { ...files.texts, [files.main]: text } });
    const take = new Take(patch as Patch, {
      sampleRate: 48_000,
      length: { unit: 'seconds', value: 1.5 },
      tail: { unit: 'seconds', value: 0 },
    });
    const by: number[] = [];
    for (let frames = take.read(); frames > 0; frames = take.read())
      for (const sample of take.channels[0]?.subarray(0, frames) ?? []) by.push(sample);
    const [played] = await stroke(files, 'hat', 'hat', isAccented);
    expect(played?.length).toBeGreaterThan(1000);
    expect(worst(played, by.slice(0, played?.length).map(Math.fround))).toBe(0);
    // What is left out of it is under -90 dBFS.
    for (const sample of by.slice(played?.length)) expect(Math.abs(sample)).toBeLessThan(0.0000317);
  });

  it('of a voice of a kit has nothing of the others', async () => {
    const files = filesOf(KIT);
    const [open] = await stroke(files, 'hats', 'open', false);
    const [closed] = await stroke(files, 'hats', 'closed', false);
    // An open hat rings longer than a closed one.
    expect(open?.length ?? 0).toBeGreaterThan(2 * (closed?.length ?? 0));
    expect(await stroke(files, 'kick', 'closed', false)).toEqual([]);
  });

  it('is answered beside other work, and refused without a patch', async () => {
    const page = new Page();
    const wish = { voice: 'kick', module: 'drums', channel: 'kick', isAccented: true };
    const early = page.send({ type: 'stroke', stroke: wish });
    expect((await page.answer(early, 'refused')).message).toContain('nothing to strike yet');
    const open = page.send({ type: 'open', files: filesOf(KIT) });
    const id = page.send({ type: 'stroke', stroke: wish });
    const { channels } = await page.answer(id, 'stroke');
    expect(channels[0]?.length).toBeGreaterThan(4800);
    // The loop did not stop for it.
    expect((await page.loop(open)).channels[0]?.length).toBeGreaterThan(0);
  });
});
