// `forehear check`, as a person runs it: what it prints, and how it ends.

import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { forehear, PATCHES, scratch } from '../run.ts';

const WRONG = `title: Wrong     # a comment
modules:
  drums: { kind: rhythm, tempo: 60 bpm, channels: [hat], gate: 50 ms, patterns: { groove: { hat: "--x- --x-" } } }
  shape: { kind: envelope, trigger: switch, attack: 1 ms, decay: 20 ms, release: 20 ms }
  hiss: { kind: noise }
  level: { kind: amplifier }
  out: { kind: output }
cables:
  - drums.hat  -> shape.trigger   # a voltage
  - shape.out  -> level.control
  - hiss.white -> level.in
  - level.out  -> out.left
`;

/** A patch as an earlier version has it. */
const OLD = `title: Bass
modules:
  tick: { kind: clock, rate: 4 Hz }
  walk: { kind: step-sequencer, row-a: [C2, Eb2] } # low
  slow: { kind: clock, rate: 0.5 Hz }
  tone: { kind: oscillator }
  out: { kind: output }
cables:
  - tick.out  -> walk.clock
  - slow.out  -> walk.shift
  - walk.a    -> tone.pitch
  - tone.sine -> out.left
`;

function folder(): { at: string; file: string } {
  const at = scratch();
  writeFileSync(join(at, 'hat.yaml'), WRONG);
  return { at, file: join(at, 'hat.yaml') };
}

describe('check', () => {
  it('says that a patch which works has nothing, and ends with 0', () => {
    const { status, stdout, stderr } = forehear(scratch(), [
      'check',
      join(PATCHES, 'closed-hat.yaml'),
    ]);
    expect(stderr).toBe('');
    expect(stdout).toBe('Nothing found: it will do what the patch says.\n');
    expect(status).toBe(0);
  });

  it('prints the line of a fault with a caret under it, what happens and the fix, and ends with 1', () => {
    const { at } = folder();
    const { status, stdout, stderr } = forehear(at, ['check', 'hat.yaml']);
    expect(stderr).toBe('');
    const lines = stdout.split('\n');
    expect(lines[0]).toBe('1 fault: it will not do what the patch says');
    expect(lines.slice(2, 5)).toEqual([
      'hat.yaml:9:5: voltage-into-switch',
      '    - drums.hat  -> shape.trigger   # a voltage',
      `      ${'^'.repeat('drums.hat  -> shape.trigger'.length)}`,
    ]);
    expect(stdout).toContain('fires inverted');
    expect(stdout).toContain('To mend it: Put a trigger converter in between');
    expect(status).toBe(1);
  });

  it('gives the findings as JSON, with the shape that is promised', () => {
    const { at } = folder();
    const { status, stdout } = forehear(at, ['check', 'hat.yaml', '--json']);
    const { findings } = JSON.parse(stdout);
    expect(findings).toHaveLength(1);
    expect(Object.keys(findings[0])).toEqual([
      'rule',
      'severity',
      'message',
      'fix',
      'file',
      'line',
      'column',
      'jack',
      'jacks',
      'figures',
      'ways',
    ]);
    expect(findings[0]).toMatchObject({
      rule: 'voltage-into-switch',
      severity: 'fault',
      file: 'hat.yaml',
      line: 9,
      column: 5,
      jack: 'shape.trigger',
    });
    expect(status).toBe(1);
  });

  it('says nothing with --quiet, and still ends with 1', () => {
    const { at } = folder();
    expect(forehear(at, ['check', 'hat.yaml', '--quiet'])).toEqual({
      status: 1,
      stdout: '',
      stderr: '',
    });
  });

  it('sees what --set changes', () => {
    const { at } = folder();
    expect(forehear(at, ['check', 'hat.yaml', '--set', 'shape.trigger=voltage']).status).toBe(0);
  });

  it('reads a patch from standard input', () => {
    const { status, stdout } = forehear(scratch(), ['check', '-', '--json'], WRONG);
    expect(JSON.parse(stdout).findings[0].file).toBe('-');
    expect(status).toBe(1);
  });

  it('shows a fix as a unified diff and leaves the file alone', () => {
    const { at, file } = folder();
    const { status, stdout, stderr } = forehear(at, ['check', 'hat.yaml', '--fix']);
    expect(stdout).toContain('--- hat.yaml');
    expect(stdout).toContain('@@');
    expect(stdout).toContain('-  - drums.hat  -> shape.trigger   # a voltage');
    expect(stdout).toContain('+  - drums.hat  -> shape-adapt.voltage-in   # a voltage');
    expect(stderr).toContain('--write');
    expect(readFileSync(file, 'utf8')).toBe(WRONG);
    expect(status).toBe(1);
  });

  it('names what it leaves, since nobody but the person knows what is meant', () => {
    const at = scratch();
    // Accents that nothing listens to: to lead them somewhere, or to write plain strokes, would both be right.
    writeFileSync(join(at, 'hat.yaml'), WRONG.replace('--x- --x-', '--X- --x-'));
    const { stderr } = forehear(at, ['check', 'hat.yaml', '--fix']);
    expect(stderr).toMatch(
      /^Left to you, with no change .*\nhat\.yaml:3 +accent-unheard +drums\.hat-accent\n(?:.*\n)?1 file would be changed.*left: /,
    );
    const { mendless } = JSON.parse(forehear(at, ['check', 'hat.yaml', '--fix', '--json']).stdout);
    expect(mendless[0]).toEqual({
      rule: 'accent-unheard',
      ...{ file: 'hat.yaml', line: 3, column: 3 },
      jack: 'drums.hat-accent',
      jacks: ['drums.hat-accent'],
    });
  });

  it('makes the fix with --write, after which there is nothing to find', () => {
    const { at, file } = folder();
    expect(forehear(at, ['check', 'hat.yaml', '--fix', '--write']).status).toBe(0);
    const after = readFileSync(file, 'utf8');
    expect(after).toContain('title: Wrong     # a comment');
    expect(after).toContain('shape-adapt: { kind: trigger-converter }');
    expect(forehear(at, ['check', 'hat.yaml']).status).toBe(0);
  });

  it('writes a file of an earlier version as it is now, with --fix, and else says how', () => {
    const at = scratch();
    const file = join(at, 'old.yaml');
    writeFileSync(file, OLD);
    const told = forehear(at, ['check', 'old.yaml']);
    expect([told.status, told.stdout]).toEqual([2, '']);
    expect(told.stderr).toContain('old.yaml:4:33: "row-a" is written as "rows" now');
    expect(told.stderr).toContain('expected rows: { a: [C2, Eb2] }');
    expect(told.stderr).toContain('old.yaml:10:23: the jack "shift" is called "offset" now');
    expect(told.stderr).toContain('forehear check PATCH --fix --write');
    const shown = forehear(at, ['check', 'old.yaml', '--fix']);
    expect([shown.status, shown.stderr]).toEqual([0, expect.stringContaining('--write does it')]);
    expect(shown.stdout).toContain('-  walk: { kind: step-sequencer, row-a: [C2, Eb2] } # low');
    expect(shown.stdout).toContain(
      '+  walk: { kind: step-sequencer, rows: { a: [C2, Eb2] } } # low',
    );
    expect(readFileSync(file, 'utf8')).toBe(OLD);
    expect(forehear(at, ['check', 'old.yaml', '--fix', '--write']).status).toBe(0);
    expect(readFileSync(file, 'utf8')).toBe(
      OLD.replace('row-a: [C2, Eb2]', 'rows: { a: [C2, Eb2] }').replace('.shift', '.offset'),
    );
    expect(forehear(at, ['check', 'old.yaml']).status).toBe(0);
  });

  it('does not say so of what --set says', () => {
    const { status, stderr } = forehear(scratch(), [
      'check',
      join(PATCHES, 'bass-line.yaml'),
      '--set',
      'walk.shift=drums.kick-accent',
    ]);
    expect(status).toBe(2);
    expect(stderr).toContain('expected walk.offset');
    expect(stderr).not.toContain('--fix --write');
  });

  it('writes nothing of it where something else is wrong too', () => {
    const at = scratch();
    const file = join(at, 'old.yaml');
    const broken = OLD.replace('rate: 4 Hz', 'rate: 4');
    writeFileSync(file, broken);
    const { status, stderr } = forehear(at, ['check', 'old.yaml', '--fix', '--write']);
    expect([status, stderr]).toEqual([2, expect.stringContaining('3 problems')]);
    expect(stderr).not.toContain('--fix --write');
    expect(readFileSync(file, 'utf8')).toBe(broken);
  });

  it('explains every rule, and knows the nearest to one that is not there', () => {
    const { stdout } = forehear(scratch(), ['check', '--explain', '--json']);
    const { rules } = JSON.parse(stdout);
    expect(rules.length).toBeGreaterThan(25);
    for (const { what, why, sum, mend } of rules)
      expect([what, why, sum, mend].every((text: string) => text.length > 10)).toBe(true);
    const page = forehear(scratch(), ['check', '--explain', 'voltage-into-switch']);
    expect(page.stdout).toMatch(/^voltage-into-switch\n/);
    for (const title of ['Why it happens', 'The sum behind it', 'How to mend it'])
      expect(page.stdout).toContain(`\n${title}\n`);
    expect(page.status).toBe(0);
    const { status, stderr } = forehear(scratch(), ['check', '--explain', 'level-to-low']);
    expect(stderr).toContain('Did you mean level-too-low?');
    expect(status).toBe(2);
  });

  it('checks without the rack that the patch names, if --rack is none', () => {
    const { at } = folder();
    const rackless = readFileSync(join(at, 'hat.yaml'), 'utf8');
    writeFileSync(join(at, 'small.yaml'), 'units: { out: { kind: output } }\n');
    writeFileSync(join(at, 'racked.yaml'), `rack: small.yaml\n${rackless}`);
    expect(forehear(at, ['check', 'racked.yaml']).stdout).toContain('rack-short');
    writeFileSync(join(at, 'rackless.yaml'), `seed: x\n${rackless}`);
    const { stdout } = forehear(at, ['check', 'racked.yaml', '--rack', 'none']);
    expect(stdout.replaceAll('racked.yaml', 'rackless.yaml')).toBe(
      forehear(at, ['check', 'rackless.yaml']).stdout,
    );
  });

  it.each([
    [['check'], 'A patch file is missing'],
    [['check', 'none.yaml'], 'there is no such file'],
    [['check', 'hat.yaml', '--write'], '--write makes the changes of --fix'],
    [['check', 'hat.yaml', '--tolerance', '80%'], 'from 0 % to 50 %'],
    [['check', 'hat.yaml', '--rack', 'none.yaml'], 'there is no such file'],
  ])('%j is a wrong request', (args, words) => {
    const { at } = folder();
    const { status, stderr, stdout } = forehear(at, args);
    expect(stderr).toContain(words);
    expect(stdout).toBe('');
    expect(status).toBe(2);
  });

  it('shows problems of the rack where they stand', () => {
    const { at } = folder();
    writeFileSync(join(at, 'rack.yaml'), 'units:\n  hiss: { kind: nose }\n');
    const { status, stderr } = forehear(at, ['check', 'hat.yaml', '--rack', 'rack.yaml']);
    expect(stderr).toContain('rack.yaml:2:17: there is no kind "nose"');
    expect(stderr).toContain('  hiss: { kind: nose }\n                  ^^^^');
    expect(status).toBe(2);
  });

  it('leaves a file that it cannot replace as it is, and says so', () => {
    const { at } = folder();
    const name = 'kept.yaml';
    writeFileSync(join(at, name), WRONG, { mode: 0o444 });
    const { status, stderr } = forehear(at, ['check', name, '--fix', '--write']);
    expect(stderr).toContain('could not be written: it is read-only');
    expect(readFileSync(join(at, name), 'utf8')).toBe(WRONG);
    expect(status).toBe(2);
  });
});

describe('render', () => {
  it('ends with the count of findings and the worst of them', () => {
    const { at } = folder();
    const { stdout } = forehear(at, ['render', 'hat.yaml', '--seconds', '1']);
    const last = stdout.trimEnd().split('\n').at(-1);
    expect(last).toMatch(/^check: 1 fault; hat\.yaml:9:5: voltage-into-switch: /);
    const { findings } = JSON.parse(
      forehear(at, ['render', 'hat.yaml', '--seconds', '1', '--json']).stdout,
    );
    expect(findings).toEqual({ fault: 1, caution: 0, note: 0 });
  });

  it("keeps a module's name as the file has it, even where it begins a sentence", () => {
    const text = `modules: { hiss: { kind: noise }, level: { kind: amplifier }, out: { kind: output } }
cables: [hiss.white -> level.in, level.out -> out.left]
`;
    const { status, stdout } = forehear(scratch(), ['check', '-'], text);
    expect(status).toBe(1);
    expect(stdout).toContain('level has nothing in control');
  });
});
