#!/usr/bin/env bash
# Runs the project on a real Linux kernel with devices that are none of ours: bash tests/rig/vm.sh
#
# A virtual machine (QEMU) boots Debian's own kernel with this machine's files read-only under it, so the unmodified
# hidapi wheel and our `sources` and `bench` run there as they are here. Devices: QEMU's tablet, pads through /dev/uhid,
# and a true USB device through the kernel's HID gadget. See tests/rig/vm/guest.py for what is checked.
#
# Needs Debian, root and apt; installs QEMU, kmod and cpio, and unpacks (does not install) a kernel into
# ${XDG_CACHE_HOME:-~/.cache}/restpoint-rig. Where that cannot be had it says why and ends with status 0.
# Prints human lines, then one JSON line. Status 1 when something is wrong.
set -euo pipefail
here=$(dirname "$(readlink -f "$0")")
root=$(readlink -f "$here/../..")
cache=${XDG_CACHE_HOME:-$HOME/.cache}/restpoint-rig

skip() {
  printf 'rig: skipped, %s\n{"bench": "vm", "skipped": "%s"}\n' "$1" "$1"
  exit 0
}

python=${PYTHON:-$root/.venv/bin/python}
[ -x "$python" ] || python=$(command -v python3 || true)
[ -n "$python" ] || skip "there is no python3"
(cd "$root" && "$python" -c 'import hidraw, station.bench.session') 2>/dev/null ||
  skip "the packages are not installed; run: bash resources/bench test"

why=$(bash "$here/vm/setup.sh" "$cache") || skip "${why:-the virtual machine cannot be set up}"
exec "$python" "$here/vm/host.py" "$cache" "$@"
