// Documents of the service as files.
import { rename, rm, writeFile } from 'node:fs/promises';
import { parse, format } from 'node:path';

import type { Document } from '../generated/contract.js';
import { shown } from './shown.js';

const ends: Record<string, string> = { 'application/pdf': '.pdf', 'image/svg+xml': '.svg' };

/**
 * Writes the document of an answer, over what is there, and says where: drawing-1.svg and drawing-2.svg for two pages at
 * drawing.svg. Each file is there whole or not at all. TypeError for a name that says another format.
 */
export async function writeDocument(document: Document | undefined, path: string): Promise<string[]> {
  if (!document?.files?.length || !document.files.every((file) => typeof file === 'string'))
    throw new TypeError(`document: got ${document ? 'no files' : shown(document)}, accepted: the document of an answer`);
  if (typeof path !== 'string') throw new TypeError(`path: got ${shown(path)}, accepted: a text`);
  const { dir, name, ext } = parse(path);
  const end = ends[document.media_type] ?? ext;
  if (ext.toLowerCase() !== end)
    throw new TypeError(
      `path: got ${shown(path)}, accepted: a name that ends in ${end}; document.format asks for another`,
    );
  const pages = document.files.map((_, i) =>
    document.files.length === 1 ? path : format({ dir, name: `${name}-${i + 1}`, ext }),
  );
  for (const [i, page] of pages.entries()) {
    const part = `${page}.${process.pid}.part`;
    try {
      await writeFile(part, Buffer.from(document.files[i]!, 'base64'));
      await rename(part, page);
    } finally {
      await rm(part, { force: true });
    }
  }
  return pages;
}
