#!/usr/bin/env bash
# Gets what the virtual machine needs into a folder: setup.sh FOLDER
# Leaves FOLDER/vmlinuz and FOLDER/initrd.gz. Runs again in a moment. On failure it prints one plain word why
# (on standard output; the rest goes to FOLDER/setup.log) and ends with status 1.
set -euo pipefail
here=$(dirname "$(readlink -f "$0")")
folder=$1
packages="qemu-system-x86 kmod cpio"
# What the guest loads, in this order; what each depends on is taken from the kernel's own list.
modules="virtio_pci 9pnet_virtio 9p overlay xhci-pci usbhid hid-generic uhid evdev joydev configfs libcomposite
  usb_f_hid usb_f_fs dummy_hcd"

fail() { echo "$1"; exit 1; }
[ "$(uname -s)-$(uname -m)" = Linux-x86_64 ] || fail "it needs Linux on a 64-bit PC"
[ "$(id -u)" = 0 ] || fail "it needs root"
command -v apt-get >/dev/null || fail "it needs apt"
mkdir -p "$folder"
log=$folder/setup.log
: > "$log"

fresh() { # vmlinuz and initrd are there and belong to these scripts
  [ -s "$folder/vmlinuz" ] && [ -s "$folder/initrd.gz" ] &&
    [ "$(cat "$folder/made-by" 2>/dev/null)" = "$(cat "$here/setup.sh" "$here/init" | cksum)" ]
}

missing=""
command -v qemu-system-x86_64 >/dev/null && command -v depmod >/dev/null && command -v cpio >/dev/null || missing=yes
if [ -z "$missing" ] && fresh; then exit 0; fi
# An old list of packages may do; a failing one must not: the install below tells.
apt-get update -qq >>"$log" 2>&1 || true
if [ -n "$missing" ]; then
  # shellcheck disable=SC2086
  DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends $packages >>"$log" 2>&1 ||
    fail "apt cannot install $packages"
fi

# The name of the kernel's package changes with each update of it.
kernel=$(apt-cache depends linux-image-amd64 2>>"$log" | awk '/Depends: linux-image-/ {print $2; exit}')
[ -n "$kernel" ] || fail "apt has no Debian kernel"
work=$(mktemp -d "$folder/work.XXXXXX")
trap 'rm -rf "$work"' EXIT
cd "$work"
chmod 755 .
apt-get download -qq "$kernel" busybox-static >>"$log" 2>&1 || fail "apt cannot download a kernel"
dpkg -x "$kernel"_*.deb kernel >>"$log" 2>&1
dpkg -x busybox-static_*.deb busybox >>"$log" 2>&1
version=$(basename kernel/lib/modules/*)
depmod -b kernel "$version" >>"$log" 2>&1

mkdir -p tree/bin tree/proc tree/sys tree/dev tree/modules
cp busybox/bin/busybox tree/bin/
install -m 755 "$here/init" tree/init
list=kernel/lib/modules/$version/modules.dep
# The driver that claims pads of a vendor-specific class, whatever its name is.
modules="$modules $(awk '/icFFisc5Dip01in/ {print $3; exit}' "kernel/lib/modules/$version/modules.alias")"
for module in $modules; do
  line=$(grep -E "/$module\.ko(\.[a-z]+)?:" "$list" | head -1) || continue # built in
  for path in $(echo "${line#*:}" | tr ' ' '\n' | tac) "${line%%:*}"; do
    name=$(basename "$path")
    plain=${name%.ko*}.ko
    [ ! -e "tree/modules/$plain" ] || continue
    case $name in
      *.xz) xz -dc "kernel/lib/modules/$version/$path" > "tree/modules/$plain" ;;
      *.zst) zstd -qdc "kernel/lib/modules/$version/$path" > "tree/modules/$plain" ;;
      *) cp "kernel/lib/modules/$version/$path" "tree/modules/$plain" ;;
    esac
    echo "$plain" >> tree/modules/order
  done
done
(cd tree && find . | cpio -o -H newc --quiet | gzip -1) > initrd.gz
mv initrd.gz "$folder/initrd.gz"
cp kernel/boot/vmlinuz-* "$folder/vmlinuz"
cat "$here/setup.sh" "$here/init" | cksum > "$folder/made-by"
