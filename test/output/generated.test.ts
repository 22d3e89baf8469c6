/** The files that are written from the kinds' definitions; `npm run docs` writes them again. */

import { describe, expect, test } from 'vitest';
import { KINDS } from '../../src/modules/kinds.ts';
import { electrical, formatReference } from '../../src/output/format-reference.ts';
import { rackFrom } from '../../src/patch/rack/rack.ts';
import { rackSchemaText } from '../../src/patch/rack/rack-schema.ts';
import { readPatch } from '../../src/patch/read.ts';
import { schemaText } from '../../src/patch/schema.ts';
import { describeProblem } from '../../src/patch/text/describe.ts';
import { Report } from '../../src/patch/text/report.ts';

test('patches/README.md is what the definitions say', async () => {
  await expect(formatReference(KINDS)).toMatchFileSnapshot('../../patches/README.md');
});

test('patches/patch.schema.json is what the definitions say', async () => {
  await expect(schemaText(KINDS)).toMatchFileSnapshot('../../patches/patch.schema.json');
});

describe('the reference', () => {
  const text = formatReference(KINDS);
  const blocks = [...text.matchAll(/```(?:yaml)?\n(.*?)```/gs)].map((match) => match[1] as string);
  const example = blocks[0] as string;
  const read = (patch: string, set: readonly string[] = []): string[] =>
    readPatch(patch, { file: 'hat.yaml', kinds: KINDS, set }).problems.map((problem) =>
      describeProblem(problem, () => patch),
    );

  test('its first patch is right', () => {
    expect(example).toMatch(/^title: /);
    expect(read(example)).toEqual([]);
  });

  test('its patterns and song are right', () => {
    const score = blocks.find((block) => block.startsWith('patterns:')) as string;
    const drums = `modules:\n  drums:\n    kind: rhythm\n    channels: [kick, hat]\n`;
    expect(read(drums + score.replace(/^/gm, '    '))).toEqual([]);
  });

  test('its rack is right', () => {
    const rack = blocks.find((block) => block.startsWith('cables: 24')) as string;
    const report = new Report();
    rackFrom('rack.yaml', rack, KINDS, report);
    expect(report.sorted('rack.yaml')).toEqual([]);
  });

  test('its error is what the reader says of that patch', () => {
    const wrong = example.replace(/^ {2}shape:.*$/m, '  shape: { kind: envelope, decay: 55 }');
    expect(read(wrong)).toEqual([
      (blocks.find((block) => block.includes('^^')) as string).trimEnd(),
    ]);
  });

  test('its overrides are read', () => {
    const overrides = [
      ...text.matchAll(/^forehear .*--set (shape|drums\.(?:tempo|patterns))(\S*)/gm),
    ];
    expect(overrides.length).toBeGreaterThanOrEqual(2);
    expect(
      read(
        example,
        overrides.map((match) => `${match[1]}${match[2]}`),
      ),
    ).toEqual([]);
  });

  test('it has a section, every setting and every jack of each kind', () => {
    for (const { kind, settings } of KINDS) {
      const section = text.split(`\n### ${kind}\n`)[1]?.split('\n### ')[0] as string;
      for (const name of Object.keys(settings)) expect(section).toContain(`| \`${name}\` |`);
    }
  });

  test('electrical facts are in words', () => {
    const about = '';
    const input = { name: 'a', direction: 'in', signal: 'gate', about } as const;
    const plain = { ohms: 100_000, rest: 0, safe: 12 };
    const voltage = { type: 'voltage', on: 2.5, off: 1.5, shortest: 0.001 } as const;
    const closing = { type: 'switch', on: 0.8, off: 2, shortest: 0 } as const;
    expect(electrical({ ...input, facts: plain })).toBe('100 kohm to ground; safe to ±12 V');
    expect(electrical({ ...input, facts: { ...plain, trigger: voltage } })).toBe(
      '100 kohm to ground; on above 2.5 V, off below 1.5 V; pulses of 1 ms or more; safe to ±12 V',
    );
    const pulled = { ohms: 10_000, rest: 5, safe: 12, trigger: closing };
    expect(electrical({ ...input, facts: pulled })).toBe(
      '10 kohm up to 5 V; on below 0.8 V, off above 2 V; safe to ±12 V',
    );
    const output = { name: 'a', direction: 'out', signal: 'gate', about } as const;
    expect(electrical({ ...output, facts: { type: 'voltage', low: 0, high: 5, ohms: 1000 } })).toBe(
      '0 V to 5 V, behind 1 kohm',
    );
    expect(electrical({ ...output, facts: { type: 'voltage', low: 0, high: 5, ohms: 0 } })).toBe(
      '0 V to 5 V, held whatever the load',
    );
    expect(electrical({ ...output, facts: { type: 'switch', saturation: 0, ohms: 50 } })).toBe(
      'closes to ground through 50 ohm; open at rest',
    );
  });
});

test('patches/rack.schema.json is what the definitions say', async () => {
  await expect(rackSchemaText(KINDS)).toMatchFileSnapshot('../../patches/rack.schema.json');
});
