#!/usr/bin/env bash
# bash .ci/setup.sh build|tests
# Installs from Debian's packages what is missing to build the programs, or to build and run every test.
set -euo pipefail

packages=(g++ cmake ninja-build pkg-config libgrpc++-dev protobuf-compiler-grpc libprotobuf-dev protobuf-compiler libabsl-dev
  libssl-dev libsqlite3-dev libpqxx-dev libutf8proc-dev prometheus-cpp-dev
  libcairo2-dev libpango1.0-dev libharfbuzz-dev fonts-dejavu-core)
case "${1:-}" in
  build) ;;
  tests)
    packages+=(libgtest-dev libgmock-dev libbenchmark-dev nlohmann-json3-dev units python3-scipy clang-format clang-tidy
      postgresql poppler-utils python3-grpcio python3-protobuf python3-venv mypy openssl
      debootstrap dpkg-dev file man-db bsdextrautils systemd wget)
    # A Node.js from elsewhere serves as well, and Debian's npm would refuse to stand beside it.
    command -v node >/dev/null || packages+=(nodejs)
    command -v npm >/dev/null || packages+=(npm)
    ;;
  *) echo "usage: bash .ci/setup.sh build|tests" >&2; exit 2 ;;
esac

if ! command -v dpkg-query >/dev/null || ! command -v apt-get >/dev/null; then
  echo "setup: this is no Debian system; install the equivalents of: ${packages[*]}" >&2
  exit 1
fi

missing=()
for package in "${packages[@]}"; do
  [[ $(dpkg-query -W -f '${db:Status-Status}' "$package" 2>/dev/null) == installed ]] || missing+=("$package")
done
[[ ${#missing[@]} -gt 0 ]] || exit 0

as_root=(env DEBIAN_FRONTEND=noninteractive)
if [[ $(id -u) -ne 0 ]]; then
  if ! command -v sudo >/dev/null; then
    echo "setup: neither root nor sudo here; as root run: apt-get install ${missing[*]}" >&2
    exit 1
  fi
  as_root=(sudo "${as_root[@]}")
fi
echo "setup: installing ${missing[*]}"
if ! { "${as_root[@]}" apt-get -q update && "${as_root[@]}" apt-get -q -y --no-install-recommends install "${missing[@]}"; }; then
  echo "setup: apt-get could not install: ${missing[*]}" >&2
  exit 1
fi
