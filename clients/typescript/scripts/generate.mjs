// node scripts/generate.mjs: of the contract in ../../proto,
//   generated/coilwright/v1/*.ts   the type of every message as JSON, by ts-proto
//   generated/contract.ts          all of them under one roof, and the services of a client
//   generated/attributes.ts        what a client calls each service
//   dist/contract.binpb            descriptors, by which messages are checked, written and read
// The compiler is protoc (Debian: protobuf-compiler), or what PROTOC names.
import { execFileSync } from 'node:child_process';
import { copyFileSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

import { createFileRegistry, fromBinary } from '@bufbuild/protobuf';
import { FileDescriptorSetSchema } from '@bufbuild/protobuf/wkt';

const here = dirname(dirname(fileURLToPath(import.meta.url)));
const proto = join(here, '../../proto');
const generated = join(here, 'generated');
const dist = join(here, 'dist');

const options = [
  'onlyTypes=true',
  'useJsonWireFormat=true',
  'snakeToCamel=false',
  'enumsAsLiterals=true',
  'unrecognizedEnum=false',
  'forceLong=string',
  'useOptionals=messages',
  'outputServices=default',
  'lowerCaseServiceMethods=true',
  'useAsyncIterable=true',
  'emitImportedFiles=false',
  'importSuffix=.js',
  'annotateFilesWithVersion=false',
];

function compile(files) {
  const protoc = process.env.PROTOC ?? 'protoc';
  try {
    execFileSync(
      protoc,
      [
        `--proto_path=${proto}`,
        `--descriptor_set_out=${join(dist, 'contract.binpb')}`,
        '--include_imports',
        `--plugin=protoc-gen-ts=${join(here, 'node_modules/.bin/protoc-gen-ts_proto')}`,
        `--ts_out=${generated}`,
        `--ts_opt=${options.join(',')}`,
        ...files,
      ],
      { stdio: 'inherit' },
    );
  } catch (error) {
    console.error(
      error.code === 'ENOENT'
        ? `generate: ${protoc} is missing; install protobuf-compiler, or name the compiler in PROTOC`
        : `generate: ${error.message}`,
    );
    process.exit(1);
  }
}

// "TestLimitService" is testLimit of a client.
function attribute(service) {
  const name = service.name.replace(/Service$/, '');
  return name[0].toLowerCase() + name.slice(1);
}

// ts-proto writes a message inside another as Outer_Inner.
function names(types) {
  return types.flatMap((type) => [
    type.typeName.slice('coilwright.v1.'.length).replaceAll('.', '_'),
    ...names(type.nestedEnums ?? []),
    ...names(type.nestedMessages ?? []),
  ]);
}

function contractModule(files, services) {
  return [
    "import type { Calls } from '../src/calls.js';",
    ...services.map((service) => `import type { ${service.name} } from './${service.file.name}.js';`),
    '',
    ...files.flatMap((file) => [
      'export type {',
      ...names([...file.enums, ...file.messages]).map((name) => `  ${name},`),
      `} from './${file.name}.js';`,
    ]),
    '',
    '/** Every service of the contract. */',
    'export interface Services {',
    ...services.map((service) => `  readonly ${attribute(service)}: Calls<${service.name}>;`),
    '}',
    '',
  ].join('\n');
}

function attributesModule(services) {
  return [
    '/** Every service of the contract, by what a client calls it. */',
    'export const attributes: Readonly<Record<string, string>> = {',
    ...services.map((service) => `  ${attribute(service)}: '${service.typeName}',`),
    '};',
    '',
  ].join('\n');
}

for (const folder of [generated, dist]) {
  rmSync(folder, { recursive: true, force: true });
  mkdirSync(folder);
}
const files = readdirSync(join(proto, 'coilwright/v1')).filter((name) => name.endsWith('.proto'));
compile(files.map((name) => `coilwright/v1/${name}`));
// In JSON the bytes of a document are a text, in base64.
for (const name of files) {
  const typed = join(generated, 'coilwright/v1', name.replace('.proto', '.ts'));
  writeFileSync(typed, readFileSync(typed, 'utf8').replaceAll('Uint8Array', 'string'));
}
const descriptors = fromBinary(FileDescriptorSetSchema, readFileSync(join(dist, 'contract.binpb')));
const ours = [...createFileRegistry(descriptors).files].filter((file) => file.proto.package === 'coilwright.v1');
const services = ours.flatMap((file) => file.services);
writeFileSync(join(generated, 'contract.ts'), contractModule(ours, services));
writeFileSync(join(generated, 'attributes.ts'), attributesModule(services));
mkdirSync(join(generated, 'google/protobuf'), { recursive: true });
writeFileSync(
  join(generated, 'google/protobuf/any.ts'),
  '/** A detail of a status: its type, and its fields beside it. */\n' +
    "export type Any = { '@type'?: string } & { [field: string]: unknown };\n",
);
copyFileSync(join(here, '../python/src/coilwright/service_config.json'), join(dist, 'service_config.json'));
