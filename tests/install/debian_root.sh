#!/usr/bin/env bash
# debian_root.sh <work folder>: a fresh root of this machine's Debian, made by debootstrap from the mirror that apt uses;
# the packages are installed there by apt, so that what they depend on counts, and in_debian_root.sh does the job.
# The root and what was downloaded are kept in the work folder for a week.
set -euo pipefail
work=$1 packages=$1/packages cache=$1/debian root=$1/root
here=$(cd "$(dirname "$0")" && pwd)
skip() { echo "skipped: $*"; exit 77; }

[[ $(id -u) == 0 ]] || skip "needs root, for debootstrap and chroot"
if [[ ${2:-} != inside ]]; then
  unshare --mount --pid --fork true 2>/dev/null || skip "needs to mount, which this machine does not let root do"
  # What is mounted and started below is gone when this ends, however it ends.
  exec unshare --mount --pid --fork --kill-child bash "$0" "$work" inside
fi

suite=$(. /etc/os-release && echo "$VERSION_CODENAME")
mirror=$(apt-get indextargets --format '$(SITE) $(RELEASE) $(COMPONENT)' 'Created-By: Packages' |
  awk -v suite="$suite" '$2 == suite && $3 == "main" { print $1; exit }')
[[ -n $mirror ]] || skip "apt knows no mirror for $suite"
# The same way to the mirror as apt's.
settings=$(apt-config dump Acquire::http Acquire::https Acquire::Check-Valid-Until Acquire::Check-Date)
for scheme in http https; do
  proxy=$(sed -n "s/^Acquire::$scheme::Proxy \"\(.*\)\";/\1/p" <<<"$settings")
  [[ -z $proxy || $proxy == DIRECT ]] || export "${scheme}_proxy=$proxy"
done
wget --quiet --tries=2 --timeout=20 --spider "$mirror/dists/$suite/Release" ||
  skip "the mirror of apt is out of reach"

mkdir -p "$cache/archives"
find "$cache" -name '*.tar' -mtime +7 -delete
rm -rf "$root"
mkdir "$root"
base=$cache/$suite.tar
if [[ ! -f $base ]]; then
  include=()
  [[ $mirror != https:* ]] || include=(--include=ca-certificates)
  debootstrap --variant=minbase "${include[@]}" --cache-dir="$cache/archives" "$suite" "$root" "$mirror" >"$cache/log" ||
    { tail -n 20 "$cache/log" "$root/debootstrap/debootstrap.log" >&2; exit 1; }
  tar --create --file "$base.part" --directory "$root" --exclude './var/cache/apt/archives/*.deb' .
  mv "$base.part" "$base"
else
  tar --extract --file "$base" --directory "$root"
fi

mount -t proc proc "$root/proc"
mount --bind "$cache/archives" "$root/var/cache/apt/archives"
printf '%s\nAPT::Keep-Downloaded-Packages "true";\n' "$settings" >"$root/etc/apt/apt.conf.d/90host"
cp /etc/resolv.conf "$root/etc/resolv.conf"
# Files of throwaway machines need not reach the disk one by one.
echo force-unsafe-io >"$root/etc/dpkg/dpkg.cfg.d/unsafe-io"
mkdir "$root/packages"
cp "$packages"/*.deb "$here/in_debian_root.sh" "$here/completions.sh" "$root/packages"
chroot "$root" env -i HOME=/root LC_ALL=C.UTF-8 DEBIAN_FRONTEND=noninteractive \
  PATH=/usr/sbin:/usr/bin:/sbin:/bin http_proxy="${http_proxy:-}" https_proxy="${https_proxy:-}" \
  bash /packages/in_debian_root.sh
umount "$root/proc" "$root/var/cache/apt/archives"
rm -rf "$root"
