// The names of the files in a sheet: nothing of their folders, and all references between them.

import { describe, expect, it } from 'vitest';
import { withoutFolders } from '../../../src/page/host/files.ts';
import { resolvePath } from '../../../src/patch/paths.ts';

function named(main: string, others: readonly string[], rack?: string) {
  const names = [main, ...others, ...(rack === undefined ? [] : [rack])];
  const texts = Object.fromEntries(names.map((name) => [name, `text of ${name}`]));
  return withoutFolders({ main, ...(rack !== undefined && { rack }), set: ['a.b=1'], texts });
}

describe('withoutFolders', () => {
  it('leaves out the folder that all share', () => {
    const files = named('/home/ann/lessons/kit.yaml', ['/home/ann/lessons/parts/hat.yaml']);
    expect(files).toEqual({
      main: 'kit.yaml',
      set: ['a.b=1'],
      texts: {
        'kit.yaml': 'text of /home/ann/lessons/kit.yaml',
        'parts/hat.yaml': 'text of /home/ann/lessons/parts/hat.yaml',
      },
    });
  });

  it('keeps what the files call one another', () => {
    const main = '/home/ann/kits/kit.yaml';
    const path = '../parts/hat.yaml';
    const files = named(main, [resolvePath(main, path) as string]);
    expect(Object.keys(files.texts)).toContain(resolvePath(files.main, path));
    expect(JSON.stringify(Object.keys(files.texts))).not.toContain('ann');
  });

  it('takes whole folders, not letters that names begin with alike', () => {
    const { texts } = named('work/kit-a.yaml', ['work/kit-b/hat.yaml']);
    expect(Object.keys(texts)).toEqual(['kit-a.yaml', 'kit-b/hat.yaml']);
  });

  it('gives a rack from elsewhere its name alone', () => {
    const { rack, texts } = named('kit.yaml', ['parts/hat.yaml'], '/home/ann/cabinet.yaml');
    expect(rack).toBe('cabinet.yaml');
    expect(Object.keys(texts)).toEqual(['kit.yaml', 'parts/hat.yaml', 'cabinet.yaml']);
  });

  it('leaves all as it is where two would have one name', () => {
    const files = named('kit.yaml', ['cabinet.yaml'], '/home/ann/cabinet.yaml');
    expect(files.rack).toBe('/home/ann/cabinet.yaml');
  });
});
