#!/bin/bash
# Prove of the kiosk what a machine that is no tablet can prove.
#
#   sudo bash config/kiosk/prove.sh             everything (about ten minutes, some 2 GB in /var/tmp)
#   sudo bash config/kiosk/prove.sh PART...     only: scripts, turns, tree
#   sudo bash config/kiosk/prove.sh tree full   the tree also runs all tests of README's second command
#   sudo SUITE=trixie bash config/kiosk/prove.sh tree   Debian 13 instead of 12; SUITE=noble, Ubuntu 24.04
#
# scripts  shellcheck over every script here
# turns    a real full-screen window in an X server of its own: taps land in all four turns
# tree     a bare Debian or Ubuntu: README's first command, the installer (dry, real, again, an upgrade,
#          uninstall), systemd-analyze verify on its units, udevadm test on its rules
#
# Installs what it needs, as root. Exit 1 if anything is not as it should be.
# shellcheck disable=SC2317 # parts and checks are called by name
set -eu

HERE=$(cd "$(dirname "$0")" && pwd)
SOURCE=$(cd "$HERE/../.." && pwd)
TREE=none
SUITE=${SUITE:-bookworm}
case $SUITE in
    noble) MIRROR=${MIRROR:-http://archive.ubuntu.com/ubuntu} COMPONENTS=main,universe ;;
    *) MIRROR=${MIRROR:-http://deb.debian.org/debian} COMPONENTS=main ;;
esac
FAILED=0
FULL=no

need() {
    local missing=()
    while [ $# -gt 0 ]; do
        command -v "$1" >/dev/null || missing+=("$2")
        shift 2
    done
    [ ${#missing[@]} -eq 0 ] && return
    apt-get update -q >/dev/null
    DEBIAN_FRONTEND=noninteractive apt-get install -y -q --no-install-recommends "${missing[@]}" >/dev/null
}

# Run a check quietly; say what it proves and whether it held, with its last lines if not. The check
# runs in the background because the shell forgets "set -e" in whatever is asked with "if".
proven() {
    local what=$1 log
    shift
    log=$(mktemp)
    (
        set -eu
        "$@"
    ) >"$log" 2>&1 &
    if wait $!; then
        printf 'proven      %s\n' "$what"
    else
        printf 'NOT PROVEN  %s\n' "$what"
        tail -n 15 "$log" | sed 's/^/            /'
        FAILED=1
    fi
    rm -f "$log"
}

inside() {
    env -i PATH=/usr/sbin:/usr/bin:/sbin:/bin HOME=/root TERM=dumb SDL_AUDIODRIVER=dummy \
        PIP_CERT=/root/certificates.pem PIP_DEFAULT_TIMEOUT=180 \
        ${http_proxy:+http_proxy="$http_proxy"} ${https_proxy:+https_proxy="$https_proxy"} \
        chroot "$TREE" "$@"
}

installer() { inside bash /root/cabapp/config/kiosk/install.sh "$@"; }

# --- scripts ----------------------------------------------------------------------------------

scripts() {
    need shellcheck shellcheck
    proven "shellcheck is content with every script" \
        shellcheck "$HERE"/{install.sh,prove.sh,stick-in,wait-for-x,x-session}
}

# --- turns ------------------------------------------------------------------------------------

turns() {
    need Xvfb xvfb matchbox-window-manager matchbox-window-manager xdotool xdotool
    proven "a tap lands on the Peg key, full screen, turned by 0, 90, 180 and 270 degrees" turned
}

turned() { (cd "$SOURCE" && .venv/bin/python -m tests.kiosk.turned); }

# --- tree -------------------------------------------------------------------------------------

tree() {
    need debootstrap debootstrap
    TREE=$(mktemp -d /var/tmp/cabapp-tree-XXXXXX)
    trap clean_up EXIT
    proven "a bare system ($SUITE) unpacks" make_tree
    [ "$FAILED" = 0 ] || return 0
    proven "README's demo runs there, from python3 alone" readme_demo
    if [ "$FULL" = yes ]; then
        proven "README's test runs there" inside python3 /root/cabapp/config/start.py test
    fi
    proven "the installer's dry run changes nothing" dry_run
    proven "the installer runs, and the app that it installed starts as its own account and ends" first_run
    proven "a second run changes nothing" second_run
    proven "systemd-analyze verify is content with the units" units_verify
    proven "udevadm reads every line of the rules" rules_read
    proven "an upgrade switches over, keeps the version before, and rig, book and runs" upgrade
    proven "uninstall leaves rig, book and runs and nothing else" uninstalled
}

make_tree() {
    debootstrap --variant=minbase --components="$COMPONENTS" --include=systemd,systemd-sysv,udev,ca-certificates \
        "$SUITE" "$TREE" "$MIRROR"
    chmod 0755 "$TREE"
    mount -t proc proc "$TREE/proc"
    mount -t sysfs -o ro sysfs "$TREE/sys"
    mount --bind /dev "$TREE/dev"
    mkdir -p "$TREE/dev/pts" "$TREE/dev/shm"
    mount --bind /dev/pts "$TREE/dev/pts"
    cp -L /etc/resolv.conf /etc/hosts "$TREE/etc/"
    cp -L /etc/ssl/certs/ca-certificates.crt "$TREE/root/certificates.pem"
    mkdir "$TREE/root/cabapp"
    (cd "$SOURCE" && tar -c --exclude=.venv --exclude=.git --exclude=build --exclude='*.egg-info' \
        --exclude=__pycache__ .) | tar -x -C "$TREE/root/cabapp"
}

readme_demo() {
    inside env DEBIAN_FRONTEND=noninteractive apt-get install -y -q --no-install-recommends python3
    inside python3 /root/cabapp/config/start.py demo
    [ "$(find "$TREE/root/cabapp/build/pictures" -name '*.png' | wc -l)" -gt 50 ]
}

# Every file that an install may touch, with its contents, but for caches and the clock.
listing() {
    (cd "$TREE" && find etc opt var/lib/cabapp usr/local -type f -not -name '*.pyc' \
        -not -path etc/ld.so.cache -print0 2>/dev/null | LC_ALL=C sort -z | xargs -0 -r sha256sum)
}

dry_run() {
    local before
    before=$(listing)
    installer --dry-run
    [ "$before" = "$(listing)" ] && [ ! -e "$TREE/opt/cabapp" ]
}

first_run() {
    installer
    inside /opt/cabapp/current/venv/bin/cabapp check /root/cabapp/config/rig-us-full.toml
    [ -L "$TREE/etc/systemd/system/multi-user.target.wants/cabapp.service" ]
    # As its own account, without a display: engine, screen and speaker start, and end when told.
    inside su -s /bin/sh cab -c 'CABAPP_STATE=/var/lib/cabapp/try timeout --preserve-status 30 \
        /opt/cabapp/current/venv/bin/cabapp drive'
    grep -q 'drawing by' "$TREE/var/lib/cabapp/try/log/screen.log"
    rm -r "$TREE/var/lib/cabapp/try"
}

second_run() {
    local before
    before=$(listing)
    installer | grep -q 'Nothing to change'
    [ "$before" = "$(listing)" ]
}

units_verify() {
    local said
    said=$(inside systemd-analyze verify /etc/systemd/system/cabapp-x.service \
        /etc/systemd/system/cabapp.service /etc/systemd/system/cabapp-stick@.service 2>&1) || true
    printf '%s\n' "$said"
    ! printf '%s\n' "$said" | grep -i 'cabapp'
}

# A line that udev cannot read is named in its log with the file.
rules_read() {
    local said
    said=$(inside udevadm test --action=add /sys/class/tty/tty0 2>&1)
    printf '%s\n' "$said" | grep -c 70-cabapp-serial.rules
    ! printf '%s\n' "$said" | grep -E '70-cabapp-serial.rules:[0-9]+ .*(Invalid|Unknown|Failed)'
}

upgrade() {
    local before
    before=$(readlink "$TREE/opt/cabapp/current")
    mkdir -p "$TREE/var/lib/cabapp/runs"
    for name in rig.toml book.gpkg runs/one.gpkg; do echo kept >"$TREE/var/lib/cabapp/$name"; done
    echo '# another version' >>"$TREE/root/cabapp/cabapp/__init__.py"
    installer
    [ "$before" != "$(readlink "$TREE/opt/cabapp/current")" ] && [ -d "$TREE/opt/cabapp/$before" ]
    kept
}

kept() {
    local name
    for name in rig.toml book.gpkg runs/one.gpkg; do
        [ "$(cat "$TREE/var/lib/cabapp/$name")" = kept ]
    done
}

uninstalled() {
    installer --uninstall
    kept
    [ -z "$(find "$TREE/etc/systemd" "$TREE/etc/udev" "$TREE/etc/X11" "$TREE/opt" -name '*cabapp*')" ]
}

clean_up() {
    local place
    for place in dev/pts dev sys proc; do
        if mountpoint -q "$TREE/$place"; then umount "$TREE/$place"; fi
    done
    rm -rf --one-file-system "$TREE"
}

main() {
    if [ "$(id -u)" -ne 0 ]; then
        echo "Run it as root: sudo bash config/kiosk/prove.sh" >&2
        exit 2
    fi
    local word parts=()
    for word in "$@"; do
        case $word in
            scripts | turns | tree) parts+=("$word") ;;
            full) FULL=yes ;;
            *)
                sed -n '2,15s/^# \{0,1\}//p' "$0"
                exit 2
                ;;
        esac
    done
    [ ${#parts[@]} -gt 0 ] || parts=(scripts turns tree)
    for word in "${parts[@]}"; do "$word"; done
    exit "$FAILED"
}

main "$@"
