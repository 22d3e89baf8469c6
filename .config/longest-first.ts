import { createHash } from 'node:crypto';
import { relative } from 'node:path';
import { BaseSequencer, type TestSpecification } from 'vitest/node';
import { FIRST, PARTS, type Part } from './test-parts.ts';

/**
 * Vitest's own order is by the name of the part, which leaves two walks over the pages for the end. A search takes the
 * files of a part in any order, and says by which number it was shuffled: SHUFFLE=number takes that one again.
 */
export class LongestFirst extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const place = ({ project, moduleId }: TestSpecification): readonly [number, number] => {
      const named = FIRST.indexOf(relative(project.config.root, moduleId));
      return [PARTS.indexOf(project.name as Part), named === -1 ? FIRST.length : named];
    };
    const sorted = (await super.sort(files)).toSorted((a, b) => {
      const [partA, fileA] = place(a);
      const [partB, fileB] = place(b);
      return partA - partB || fileA - fileB;
    });
    if (process.env.SEARCH === undefined && process.env.SHUFFLE === undefined) return sorted;
    const seed = process.env.SHUFFLE ?? String(Date.now());
    process.stdout.write(`The files of each part are in the order SHUFFLE=${seed}.\n`);
    const drawn = (file: TestSpecification): string =>
      createHash('sha256').update(`${seed} ${file.moduleId}`).digest('hex');
    return sorted.toSorted((a, b) => {
      const part = place(a)[0] - place(b)[0];
      return part || (drawn(a) < drawn(b) ? -1 : 1);
    });
  }
}
