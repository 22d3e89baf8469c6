// accent-unheard: accents that make no difference, as the render shows.

import { describe, expect, it } from 'vitest';
import { contextOf } from '../../../src/findings/context.ts';
import { accentUnheard } from '../../../src/findings/rules/accent-unheard.ts';
import { applyEdits } from '../../../src/patch/edit/edit.ts';
import { patchFrom } from '../../patch-of.ts';
import { withPart } from '../../patches/listen.ts';
import { editsFor } from '../read.ts';
import { by, figure, rendered, voice } from '../voice.ts';

const HIT = 'Xxxg XX--';
const HEARD = {
  modules: ['touch: { kind: attenuator, level: 40 %, offset: 3 V }', 'last: { kind: amplifier }'],
  sound: [
    'level.out -> last.in',
    'drums.hit-accent -> touch.in',
    'touch.out -> last.control',
    'last.out -> out.left',
  ],
};

describe('accent-unheard', () => {
  it('counts accents and ghosts that nothing listens to', () => {
    const [finding, ...others] = by('accent-unheard', voice({ hit: HIT }));
    expect(others).toEqual([]);
    expect(finding?.severity).toBe('note');
    expect(finding?.jack).toEqual({ module: 'drums', jack: 'hit-accent' });
    expect([figure(finding, 'accents'), figure(finding, 'ghosts')]).toEqual([3, 1]);
    expect(finding?.message).toContain('3 accents and 1 ghost stroke');
  });

  it('is right: the render is the same without them, and another where they are heard', () => {
    const plain = HIT.replace(/[Xg]/g, 'x');
    const mix = (wanted: Parameters<typeof voice>[0]) => rendered(voice(wanted), []).mix[0];
    expect(mix({ hit: HIT })).toEqual(mix({ hit: plain }));
    expect(mix({ hit: HIT, ...HEARD })).not.toEqual(mix({ hit: plain, ...HEARD }));
  });

  it('finds nothing where they are heard, where there are none, and where the channel is not used', () => {
    expect(by('accent-unheard', voice({ hit: HIT, ...HEARD }))).toEqual([]);
    expect(by('accent-unheard', voice({ hit: 'xxf? 2---' }))).toEqual([]);
    const unused = voice({ patterns: '{ a: { hit: "x---", other: "X---" } }', song: '[a]' });
    expect(
      by('accent-unheard', unused.replace('channels: [hit]', 'channels: [hit, other]')),
    ).toEqual([]);
  });

  it('looks at the patterns that are played', () => {
    const patterns = '{ a: { hit: "x---" }, b: { hit: "X---" } }';
    expect(by('accent-unheard', voice({ patterns, song: '[a]' }))).toEqual([]);
    expect(by('accent-unheard', voice({ patterns, song: '[a, b]' }))).toHaveLength(1);
  });

  it('is told once for all channels of one sequencer', () => {
    const text = voice({ patterns: '{ a: { hit: "X---", other: "X---" } }', song: '[a]' })
      .replace('channels: [hit]', 'channels: [hit, other]')
      .replace('cables:\n', 'cables:\n  - drums.other -> more.trigger\n')
      .replace('  out:', '  more: { kind: envelope }\n  out:');
    const [finding, ...others] = by('accent-unheard', text);
    expect(others).toEqual([]);
    expect(finding?.message).toContain('drums.other-accent');
  });

  it('is mended where the gate starts a part that has an accent of its own', () => {
    const jacks = { gate: 'gate.in', out: 'touch.out' };
    const text = withPart('tom', jacks, '{}', 'X');
    const context = contextOf(patchFrom(text));
    const [finding] = accentUnheard.find(context);
    const edits = editsFor(accentUnheard, finding, context);
    const mended = applyEdits(context.patch.file, text, edits) ?? '';
    expect(mended).toContain('drums.hit-accent -> voice.accent.in');
    expect(accentUnheard.find(contextOf(patchFrom(mended)))).toEqual([]);
  });

  it('is left to a person where there is no such part', () => {
    const context = contextOf(patchFrom(voice({ hit: HIT })));
    const [finding] = accentUnheard.find(context);
    expect(finding && accentUnheard.mend?.(finding, context)).toBeUndefined();
  });
});
