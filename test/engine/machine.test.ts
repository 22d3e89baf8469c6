// The module of the compiled circuits: how large they are, that they are compiled once, and the error for
// a kind that asks for a circuit that does not exist.

import { readFileSync } from 'node:fs';
import { gzipSync } from 'node:zlib';
import { describe, expect, it, vi } from 'vitest';
import { CIRCUITS_WASM } from '../../src/engine/circuits-wasm.ts';
import { BLOCK, Machine } from '../../src/engine/machine.ts';
import { Renderer } from '../../src/engine/renderer.ts';
import { KINDS } from '../../src/modules/kinds.ts';
import { moduleOf, patchOf, sink } from './build.ts';

describe('the compiled circuits', () => {
  it('are small: a page carries them', () => {
    const bytes = CIRCUITS_WASM;
    expect(readFileSync('dist/circuits.wasm').equals(bytes)).toBe(true);
    // A kind's circuit is some 2.5 kB, a third of that compressed, what stands at its outputs with it: forty kinds
    // are 105 kB of a page of 3 MB.
    const kinds = KINDS.filter(({ create }) => create !== undefined).length;
    expect(bytes.length / kinds).toBeLessThan(2750);
    expect(gzipSync(bytes).length / kinds).toBeLessThan(950);
  });

  it('are compiled once for all renders, each with a state of its own', () => {
    const modules = [moduleOf('n', KINDS.find(({ kind }) => kind === 'noise') as never)];
    const patch = patchOf([...modules, moduleOf('o', sink)], ['n.white -> o.left']);
    const render = () =>
      new Renderer(patch, { sampleRate: 48_000, edgesOf: () => () => undefined });
    const first = render();
    const { WebAssembly: wasm } = globalThis as unknown as { WebAssembly: { Module(): void } };
    const compile = vi.spyOn(wasm, 'Module');
    const second = render();
    expect(compile).not.toHaveBeenCalled();
    compile.mockRestore();
    for (let block = 0; block < 5; block++) first.next();
    second.next();
    const late = first.channels[0]?.slice();
    const again = render();
    again.next();
    expect(second.channels[0]).toEqual(again.channels[0]);
    expect(second.channels[0]).not.toEqual(late);
  });

  it('take no more memory however long they run', () => {
    const machine = new Machine();
    const white = machine.wire();
    machine.make('whiteNoise', white, 1, 1, 2, 3, 4);
    machine.next();
    const size = machine.volts(white).buffer.byteLength;
    for (let block = 0; block < 20_000; block++) machine.next();
    expect(machine.volts(white).buffer.byteLength).toBe(size);
    expect(machine.volts(white)).toHaveLength(BLOCK);
  });
});

describe('a machine', () => {
  it('says so if there is no such circuit, or it takes other values', () => {
    const machine = new Machine();
    expect(() => machine.make('teapot')).toThrow('src/circuits has no teapot');
    // The scheduler and two wires short of what it takes.
    expect(() => machine.make('ring', machine.wire())).toThrow('ring takes 4 values, not 2');
  });
});
