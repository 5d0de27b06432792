// The contract as it was built: descriptors of every message and service.
import {
  clone,
  create,
  createFileRegistry,
  createRegistry,
  fromBinary,
  type DescMessage,
  type DescService,
  type Registry,
} from '@bufbuild/protobuf';
import { FileDescriptorProtoSchema, FileDescriptorSetSchema, type FileDescriptorProto } from '@bufbuild/protobuf/wkt';
import { readFileSync } from 'node:fs';

export const contract = createFileRegistry(
  fromBinary(FileDescriptorSetSchema, readFileSync(new URL('../contract.binpb', import.meta.url))),
);

export function messageNamed(name: string): DescMessage {
  const found = contract.getMessage(`coilwright.v1.${name}`);
  if (found === undefined) throw new Error(`the contract was built without ${name}`);
  return found;
}

/** By its full name. */
export function serviceNamed(name: string): DescService {
  const found = contract.getService(name);
  if (found === undefined) throw new Error(`the contract was built without ${name}`);
  return found;
}

// What the contract calls FieldViolations travels under the name of a common message (status.proto says why).
function badRequest(): DescMessage | undefined {
  const file = clone(FileDescriptorProtoSchema, messageNamed('FieldViolations').file.proto);
  file.name = 'coilwright/details.proto';
  file.package = 'google.rpc';
  file.dependency = [];
  file.messageType = file.messageType.filter((type) => type.name === 'FieldViolations');
  for (const message of file.messageType) {
    message.name = 'BadRequest';
    for (const field of message.field)
      field.typeName = field.typeName.replace('.coilwright.v1.FieldViolations.', '.google.rpc.BadRequest.');
  }
  return built(file, 'google.rpc.BadRequest');
}

// A message of which only the name is known.
function unknown(name: string): DescMessage | undefined {
  const [short = '', ...around] = name.split('.').reverse();
  return built(
    create(FileDescriptorProtoSchema, {
      name: `${name}.proto`,
      syntax: 'proto3',
      package: around.reverse().join('.'),
      messageType: [{ name: short }],
    }),
    name,
  );
}

function built(file: FileDescriptorProto, name: string): DescMessage | undefined {
  return createFileRegistry(file, () => undefined).getMessage(name);
}

const bad = badRequest();

/** Knows the details of a status. One that it does not know, from a newer server, is shown by its name alone. */
export const detailRegistry: Registry = {
  ...createRegistry(),
  getMessage: (name) => (name === bad?.typeName ? bad : unknown(name)),
};
