// Patching along, as the engine answers it: after the last cable, the patch itself is heard.

import { describe, expect, it } from 'vitest';
import type { PatchTexts } from '../../../src/patch/texts.ts';
import { filesOf, Page } from './harness.ts';

const HAT = 'patches/closed-hat.yaml';

async function told(files: PatchTexts, cable?: string, done: readonly string[] = []) {
  const page = new Page();
  const opened = page.send({ type: 'open', files });
  const id = page.send({ type: 'along', cable, done });
  const { along } = await page.answer(id, 'along');
  const heard = async () => (await page.answer(id, 'along-heard')).heard;
  return { page, opened, along, heard };
}

describe('patching along', () => {
  it('begins with the first cable that is not done, and tells what is asked for', async () => {
    const { along } = await told(filesOf(HAT), undefined, ['drums.hat adapt.voltage-in']);
    expect(along.step?.name).toBe('adapt.switch-out shape.trigger');
    expect(along.cables.map(({ number }) => number)).toEqual([1, 2, 3, 4, 5, 6, 7, 8, 9, 10]);
    const { along: third } = await told(filesOf(HAT), 'shape.out level.control');
    expect(third.step?.to).toMatchObject({ module: 'level', jack: 'control', kind: 'amplifier' });
    const { along: gone } = await told(filesOf(HAT), 'no.such cable.is');
    expect(gone.step?.name).toBe('drums.hat adapt.voltage-in');
  });

  it('says at a control voltage that nothing is heard, and why', async () => {
    const { heard } = await told(filesOf(HAT), 'shape.out level.control');
    const { words, sound, rows } = await heard();
    expect(sound).toBeUndefined();
    expect(words).toMatch(
      /^Nothing is heard at the output yet: nothing is plugged into the output/,
    );
    expect(words).toContain('keep it away from headphones');
    expect(rows).toEqual([['while it plays', '0 V to 4.95 V']]);
  });

  it('lets a sound be heard at its jack before it comes to the output', async () => {
    const { heard } = await told(filesOf(HAT), 'hiss.white bright.in');
    const { sound } = await heard();
    expect(sound?.at).toBe('jack');
    expect(sound?.channels).toHaveLength(1);
  });

  it.each([
    [HAT, 'touch.out out.left'],
    ['patches/next-room.yaml', undefined],
  ])('is the whole patch after the last cable, sample for sample: %s', async (main, last) => {
    const { page, opened, along } = await told(filesOf(main), last);
    const id = page.send({ type: 'along', cable: last ?? along.cables.at(-1)?.name, done: [] });
    const { heard } = await page.answer(id, 'along-heard');
    const { channels } = await page.loop(opened);
    expect(heard.sound?.at).toBe('output');
    expect(heard.sound?.channels).toEqual(channels);
  });

  it('plays one that is asked for later, and no longer the one before', async () => {
    const page = new Page();
    page.send({ type: 'open', files: filesOf(HAT) });
    const first = page.send({ type: 'along', cable: 'touch.out out.left', done: [] });
    const second = page.send({ type: 'along', cable: 'shape.out level.control', done: [] });
    await page.answer(second, 'along-heard');
    expect(page.answers.some(({ id, type }) => id === first && type === 'along-heard')).toBe(false);
  });

  it('tells the volts of a patch without an output, which cannot be played', async () => {
    const text = `
modules:
  drums: { kind: rhythm, channels: [hit], patterns: { beat: { hit: "x---" } } }
  shape: { kind: envelope }
cables: [drums.hit -> shape.trigger]
`;
    const { along, heard } = await told({ main: 'a.yaml', set: [], texts: { 'a.yaml': text } });
    expect(along.step?.rows[0]).toEqual(['with the cables so far', '0 V at rest, 4.95 V when on']);
    expect((await heard()).words).toBe('Nothing can be played: the patch needs one output.');
  });

  it('has no cables to tell where there are none, or the file cannot be read', async () => {
    const texts = (text: string) => ({ main: 'a.yaml', set: [], texts: { 'a.yaml': text } });
    const none = await told(texts('modules: { out: { kind: output } }'));
    expect(none.along).toEqual({ cables: [] });
    const broken = await told(texts('modules: { out: { kind: outputt } }'));
    expect(broken.along.cables).toEqual([]);
    expect(broken.along.lack).toContain('mistake');
  });
});
