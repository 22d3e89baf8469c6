import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { close } from './close.ts';
import { isNode, lineAt, nodesOf } from './syntax.ts';

const loose = { abs: 0.1, unit: 'V', why: 'a trial' };

describe('close', () => {
  it('passes inside the tolerance and on its edge', () => {
    close(1.05, 1, loose);
    close(0.75, 0.5, { abs: 0.25, unit: 'V', why: 'exact in binary' });
    close(-99, -100, { rel: 0.02, unit: 'V', why: 'a trial' });
  });

  it('fails outside it and prints all four numbers and the reason', () => {
    expect(() => close(1.25, 1, { ...loose, abs: 0.125 })).toThrow(
      'got 1.25 V, expected 1 V: off by 0.25, allowed +-0.125: a trial',
    );
    expect(() => close(90, 100, { rel: 0.02, unit: 'Hz', why: 'a trial' })).toThrow('off by -10');
  });

  it('fails on NaN, on infinity and on what is not there', () => {
    expect(() => close(undefined, 1, loose)).toThrow('got undefined V');
    expect(() => close(Number.NaN, 1, loose)).toThrow();
    expect(() => close(1, Number.NaN, loose)).toThrow();
    expect(() => close(Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY, loose)).toThrow();
  });

  it('refuses a tolerance of neither kind, of both, or of nothing', () => {
    expect(() => close(1, 1, { unit: 'V', why: '' })).toThrow('either abs or rel');
    expect(() => close(1, 1, { abs: 1, rel: 1, unit: 'V', why: '' })).toThrow('either abs or rel');
    expect(() => close(1, 0, { rel: 1, unit: 'V', why: '' })).toThrow('above 0');
  });
});

/** Lines at which a test takes two numbers for equal without saying what it allows and why. */
function unreasoned(path: string, text: string): readonly string[] {
  // Parsing takes longer than looking whether there is anything to find.
  if (!/toBeCloseTo|expect\([^;]{0,300}Math\.abs\(/.test(text)) return [];
  return [...nodesOf(path, text)]
    .filter(({ node }) => {
      if (node.type !== 'CallExpression' || !isNode(node.callee)) return false;
      const { property, object } = node.callee;
      const name = isNode(property) ? `${property.name}` : '';
      if (name === 'toBeCloseTo') return true;
      return /^toBeLessThan(?:OrEqual)?$/.test(name) && isOfDistance(object);
    })
    .map(({ node }) => `${path}:${lineAt(text, node.end as number)}`);
}

/** Whether it is `expect(Math.abs(a - b))`, or of what is reckoned with that. */
function isOfDistance(node: unknown): boolean {
  if (!isNode(node)) return false;
  if (node.type === 'ParenthesizedExpression') return isOfDistance(node.expression);
  if (node.type === 'BinaryExpression') return isOfDistance(node.left) || isOfDistance(node.right);
  if (node.type !== 'CallExpression' || !isNode(node.callee)) return false;
  const [first] = node.arguments as readonly unknown[];
  if (node.callee.name === 'expect') return isOfDistance(first);
  const { property } = node.callee;
  return isNode(property) && property.name === 'abs' && isNode(first) && isDifference(first);
}

function isDifference(node: unknown): boolean {
  if (!isNode(node)) return false;
  if (node.type === 'ParenthesizedExpression') return isDifference(node.expression);
  return node.type === 'BinaryExpression' && /^[-+]$/.test(`${node.operator}`);
}

describe('what is equal within a tolerance', () => {
  it('goes through `close` in every test', () => {
    const folder = fileURLToPath(new URL('.', import.meta.url));
    const found = readdirSync(folder, { recursive: true, encoding: 'utf8' })
      .filter((path) => /\.tsx?$/.test(path))
      .flatMap((path) => unreasoned(path, readFileSync(`${folder}${path}`, 'utf8')));
    expect(found).toEqual([]);
  });

  it.each([
    'expect(volts).toBeCloseTo(5, 3);',
    'expect(Math.abs(volts - 5)).toBeLessThan(0.1);',
    'expect(Math.abs((volts as number) + 5), name).toBeLessThanOrEqual(0.1);',
    'expect(Math.abs(volts / 5 - 1) * 100).toBeLessThan(1);',
    'expect(1000 * (Math.abs(a - b))).toBeLessThan(1);',
  ])('is found in %s', (text) => {
    expect(unreasoned('planted.ts', `const one = 1;\n${text}\n`)).toEqual(['planted.ts:2']);
  });

  it.each([
    'expect(Math.abs(volts)).toBeLessThanOrEqual(12);',
    'expect(most - least).toBeLessThan(1);',
    'expect(worst).toBeLessThan(1e-9);',
    "expect('expect(a).toBeCloseTo(b)').toBe(text);",
  ])('is not %s', (text) => {
    expect(unreasoned('planted.ts', text)).toEqual([]);
  });
});
