// The package as another project has it: packed, installed beside its dependencies, compiled and run from there.
import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, describe, test } from 'node:test';

import { contract } from '../src/contract.js';
import { toMessage, toPlain } from '../src/messages.js';
import { home, Server } from './server.js';

let project: string;

function run(command: string, ...words: string[]): string {
  const { status, stdout, stderr, error } = spawnSync(command, words, { cwd: project, encoding: 'utf8' });
  assert.equal(status, 0, `${command} ${words.join(' ')}\n${stdout}\n${stderr}\n${error ?? ''}`);
  return stdout;
}

/** The blocks of this kind in the README. */
function blocks(kind: string): string[] {
  return [...readFileSync(`${home}README.md`, 'utf8').matchAll(/^```(.*)\n([^]*?)^```$/gm)]
    .filter((block) => block[1] === kind)
    .map((block) => block[2]!);
}

/** Golden requests and answers as constants of their types, answers as this client gives them. */
function literals(): string {
  const folder = `${home}../../tests/golden`;
  const lines: string[] = [];
  const types = new Set<string>();
  const constant = (type: string, name: string, value: unknown) => {
    types.add(name);
    lines.push(`export const c${lines.length}: ${type} = ${JSON.stringify(value)};`);
  };
  for (const file of readdirSync(folder).filter((name) => name.endsWith('.json'))) {
    const golden = JSON.parse(readFileSync(join(folder, file), 'utf8')) as {
      method: string;
      cases: Record<string, object & object[]>[];
    };
    const [service = '', name] = golden.method.split('/');
    const method = contract.getService(`coilwright.v1.${service}`)?.methods.find((each) => each.name === name);
    assert.ok(method !== undefined, golden.method);
    for (const { request, requests = [request], answer, answers = [answer] } of golden.cases) {
      for (const one of requests) constant(`Request<${method.input.name}>`, method.input.name, one);
      for (const one of answers)
        if (one !== undefined)
          constant(method.output.name, method.output.name, toPlain(method.output, toMessage(method.output, one)));
    }
  }
  assert.ok(lines.length > 150);
  return `import type { Request, ${[...types].join(', ')} } from 'coilwright';\n${lines.join('\n')}\n`;
}

describe('the package', () => {
  before(() => {
    project = mkdtempSync(join(tmpdir(), 'coilwright-'));
    // Built already; and its own scripts would build it anew under the tests that run beside this one.
    run('npm', 'pack', '--ignore-scripts', '--silent', home);
    mkdirSync(join(project, 'node_modules/@types'), { recursive: true });
    run(
      'tar',
      '-xzf',
      readdirSync(project).find((name) => name.endsWith('.tgz'))!,
      '--transform',
      's,^package,node_modules/coilwright,',
    );
    for (const name of ['@bufbuild', '@grpc', '@types/node'])
      symlinkSync(`${home}node_modules/${name}`, join(project, 'node_modules', name));
    writeFileSync(join(project, 'package.json'), '{"type": "module"}');
    writeFileSync(
      join(project, 'tsconfig.json'),
      JSON.stringify({
        compilerOptions: { strict: true, target: 'ES2022', module: 'NodeNext', types: ['node'] },
      }),
    );
  });
  after(() => rmSync(project, { recursive: true }));

  test('holds what is needed and nothing else', () => {
    const names = readdirSync(join(project, 'node_modules/coilwright'), { recursive: true } as object) as string[];
    assert.ok(names.length > 0);
    assert.deepEqual(readdirSync(join(project, 'node_modules/coilwright')).sort(), [
      'README.md',
      'dist',
      'package.json',
    ]);
    assert.deepEqual(readdirSync(join(project, 'node_modules/coilwright/dist')).sort(), [
      'contract.binpb',
      'generated',
      'service_config.json',
      'src',
    ]);
  });

  test('compiles strictly, golden requests and answers are of their types, and the README is true', async () => {
    const [first, second] = blocks('ts');
    assert.ok(first !== undefined && second !== undefined);
    writeFileSync(join(project, 'readme.ts'), first);
    writeFileSync(join(project, 'second.ts'), second); // tls.test.ts runs it
    writeFileSync(join(project, 'literals.ts'), literals());
    run(process.execPath, `${home}node_modules/typescript/bin/tsc`, '--project', project);
    const server = await Server.start();
    const printed = run(process.execPath, 'readme.js', server.address);
    assert.equal(
      printed,
      blocks('').find((block) => block.startsWith('1500 ')),
    );
  });
});
