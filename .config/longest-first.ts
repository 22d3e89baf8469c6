import { relative } from 'node:path';
import { BaseSequencer, type TestSpecification } from 'vitest/node';
import { FIRST, PARTS, type Part } from './test-parts.ts';

/** Vitest's own order is by the name of the part, which leaves two walks over the pages for the end. */
export class LongestFirst extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const place = ({ project, moduleId }: TestSpecification): readonly [number, number] => {
      const named = FIRST.indexOf(relative(project.config.root, moduleId));
      return [PARTS.indexOf(project.name as Part), named === -1 ? FIRST.length : named];
    };
    return (await super.sort(files)).toSorted((a, b) => {
      const [partA, fileA] = place(a);
      const [partB, fileB] = place(b);
      return partA - partB || fileA - fileB;
    });
  }
}
