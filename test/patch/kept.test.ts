// What a page keeps of earlier readings does not affect a later one: against a reading that keeps
// nothing, after any steps of a person and of another program.

import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { KINDS } from '../../src/modules/kinds.ts';
import type { KeptTrees } from '../../src/patch/fragment.ts';
import { type PatchTexts, readTexts } from '../../src/patch/texts.ts';
import { runs } from '../runs.ts';

const MAIN = 'patches/kit.yaml';
const PART = 'patches/parts/tom.yaml';
const TOM = readFileSync(new URL('../../patches/parts/tom.yaml', import.meta.url), 'utf8');

/** One drum twice, with what a hand may have set of it and what another program may have made of its file. */
const anyTexts = fc
  .record({
    tune: fc.option(fc.constantFrom('0.5 V', '0.87 V', 'wrong'), { nil: undefined }),
    set: fc.subarray(['low.head-1.decay=300 ms', 'high.stick.at-zero=2 kHz', 'low.nothing=1']),
    part: fc.constantFrom('as it is', 'longer', 'with a slip', 'gone'),
    name: fc.constantFrom('low', 'mid'),
  })
  .map(({ tune, set, part, name }): PatchTexts => {
    const [line = ''] = /^ {2}head-1: .*$/m.exec(TOM) ?? [];
    const other = {
      'as it is': TOM,
      longer: TOM.replace(line, line.replace(/decay: \d+ ms/, 'decay: 512 ms')),
      'with a slip': TOM.replace(line, line.replace('kind:', 'knid:')),
      gone: undefined,
    }[part];
    const main = `title: Toms
parts:
  ${name}: parts/tom.yaml
  high: ${tune === undefined ? 'parts/tom.yaml' : `{ file: parts/tom.yaml, set: { tuning.offset: ${tune} } }`}
modules:
  out: { kind: output }
`;
    return {
      main: MAIN,
      set,
      texts: { [MAIN]: main, ...(other !== undefined && { [PART]: other }) },
    };
  });

describe('a text that is read again', () => {
  it('says what it says to one who reads it for the first time, slips and places too', () => {
    let [right, wrong] = [0, 0];
    fc.assert(
      fc.property(fc.array(anyTexts, { minLength: 2, maxLength: 4 }), (all) => {
        const kept: KeptTrees = new Map();
        for (const texts of all) {
          const fresh = readTexts(texts, { kinds: KINDS });
          expect(readTexts(texts, { kinds: KINDS, kept })).toEqual(fresh);
          if (fresh.problems.length === 0) right += 1;
          else wrong += 1;
        }
      }),
      runs(8),
    );
    expect(Math.min(right, wrong)).toBeGreaterThan(2);
  });
});
