#!/bin/bash
# Make a Debian or Ubuntu tablet (x86-64 or ARM64) start cabapp with the key.
#
#   sudo bash config/kiosk/install.sh              install, or upgrade what is there
#   sudo bash config/kiosk/install.sh --dry-run    only print what would be done
#   sudo bash config/kiosk/install.sh --uninstall  remove it; rig, book and runs stay
#
# Running it twice changes nothing the second time. Rig file, book and runs live in /var/lib/cabapp
# and are never touched.
set -eu

HERE=$(cd "$(dirname "$0")" && pwd)
SOURCE=$(cd "$HERE/../.." && pwd)
TARGET=/opt/cabapp
STATE=/var/lib/cabapp
ACCOUNT=cab
GROUPS_WANTED=(dialout video input render audio tty)
# libpam-systemd gives the X server a seat, xserver-xorg-legacy lets it start from a unit: its rule
# "console users only" is met by the unit's own terminal, so Xwrapper.config stays as it is.
PACKAGES=(xserver-xorg-core xserver-xorg-input-libinput xserver-xorg-legacy xinit x11-xserver-utils
    matchbox-window-manager libgl1 libegl1 libgl1-mesa-dri libmtdev1 alsa-utils dbus libpam-systemd
    python3 python3-venv)
# What a version is made of, and the only thing that is built.
MADE_OF=(pyproject.toml README.md config cabapp assets)
DRY=no
CHANGED=no

say() { printf '%s\n' "$*"; }

# Print a step; do it unless this is a dry run.
step() {
    CHANGED=yes
    say "+ $*"
    if [ "$DRY" = no ]; then "$@"; fi
}

# Copy a file only where it differs, so that a second run changes nothing.
place() {
    if cmp -s "$1" "$2"; then return; fi
    step install -D -m "$3" "$1" "$2"
}

fail() {
    say "$1" >&2
    exit 1
}

# A version is what it is made of: twelve digits over every file that is installed.
version() {
    (cd "$SOURCE" && find "${MADE_OF[@]}" -type f -not -path '*/__pycache__/*' -print0 |
        LC_ALL=C sort -z | xargs -0 sha256sum | sha256sum | cut -c1-12)
}

check_machine() {
    case $(uname -m) in
        x86_64 | aarch64) ;;
        *) fail "This machine is $(uname -m); the app's window library has wheels for x86_64 and aarch64 only." ;;
    esac
    [ -f /etc/debian_version ] || fail "This is not Debian or Ubuntu (/etc/debian_version is missing)."
    command -v systemctl >/dev/null || fail "This system has no systemd, which starts the kiosk with the key."
}

check_python() {
    [ "$DRY" = yes ] || python3 -c 'import sys; sys.exit(not (3, 11) <= sys.version_info[:2] <= (3, 13))' ||
        fail "Python 3.11 to 3.13 is needed; this is $(python3 --version). Debian 12 and 13 and Ubuntu 24.04 have it."
}

# From Debian 13 and Ubuntu 24.04 on some libraries have "t64" at the end of their names.
installed() {
    dpkg-query -W -f='${Status}\n' "$1" "$1t64" 2>/dev/null | grep -q 'ok installed'
}

install_packages() {
    local missing=() package
    for package in "${PACKAGES[@]}"; do
        installed "$package" || missing+=("$package")
    done
    [ ${#missing[@]} -eq 0 ] && return
    step apt-get update -q
    step env DEBIAN_FRONTEND=noninteractive apt-get install -y -q --no-install-recommends "${missing[@]}"
}

make_account() {
    id "$ACCOUNT" >/dev/null 2>&1 || step useradd --system --create-home --shell /usr/sbin/nologin "$ACCOUNT"
    local group
    for group in "${GROUPS_WANTED[@]}"; do
        getent group "$group" >/dev/null || continue
        id -nG "$ACCOUNT" 2>/dev/null | tr ' ' '\n' | grep -qx "$group" || step usermod -aG "$group" "$ACCOUNT"
    done
    [ -d "$STATE" ] || step install -d -o "$ACCOUNT" -g "$ACCOUNT" -m 0750 "$STATE"
}

# Each version has its own folder with its own environment; "current" is switched at the end, so a
# cut in the middle of an upgrade leaves the old one running. The one before stays beside it.
install_version() {
    local name folder before
    name=$(version)
    folder=$TARGET/releases/$name
    before=$(readlink "$TARGET/current" 2>/dev/null || true)
    if [ "$before" = "releases/$name" ]; then return; fi
    step rm -rf "$folder"
    step install -d "$folder/source"
    step python3 -m venv "$folder/venv"
    step "$folder/venv/bin/pip" install --quiet --require-hashes -r "$HERE/requirements.txt"
    # Built from a copy: a build leaves files behind, and the clone may be another person's.
    step cp -r "${MADE_OF[@]/#/$SOURCE/}" "$folder/source/"
    step "$folder/venv/bin/pip" install --quiet --no-deps "$folder/source"
    step rm -rf "$folder/source"
    step ln -sfn "releases/$name" "$TARGET/next"
    step mv -T "$TARGET/next" "$TARGET/current"
    forget_releases "$name" "${before#releases/}"
}

# Remove all versions but the two named.
forget_releases() {
    local folder
    for folder in "$TARGET"/releases/*/; do
        case $(basename "$folder") in
            "$1" | "${2:-none}" | '*') ;;
            *) step rm -rf "${folder%/}" ;;
        esac
    done
}

install_system_files() {
    place "$HERE/x-session" "$TARGET/kiosk/x-session" 0755
    place "$HERE/wait-for-x" "$TARGET/kiosk/wait-for-x" 0755
    place "$HERE/stick-in" "$TARGET/kiosk/stick-in" 0755
    place "$HERE/cabapp-stick@.service" /etc/systemd/system/cabapp-stick@.service 0644
    place "$HERE/cabapp-x.service" /etc/systemd/system/cabapp-x.service 0644
    place "$HERE/cabapp.service" /etc/systemd/system/cabapp.service 0644
    place "$HERE/70-cabapp-serial.rules" /etc/udev/rules.d/70-cabapp-serial.rules 0644
    place "$HERE/10-cabapp-screen.conf" /etc/X11/xorg.conf.d/10-cabapp-screen.conf 0644
}

start() {
    if [ "$CHANGED" = no ]; then
        say "Nothing to change."
        return
    fi
    if [ ! -d /run/systemd/system ]; then
        step systemctl --root=/ enable cabapp-x.service cabapp.service
        say "systemd does not run here: the units start at the next boot."
        return
    fi
    step systemctl daemon-reload
    step systemctl enable cabapp-x.service cabapp.service
    step udevadm control --reload
    step udevadm trigger --subsystem-match=tty --subsystem-match=backlight
    step systemctl restart cabapp-x.service cabapp.service
}

# Advice only: what makes a key-off safe is a matter of the tablet, not of this script.
advise() {
    local options service
    options=$(findmnt -no OPTIONS --target "$STATE" 2>/dev/null || true)
    say ""
    say "Key-off safety of $STATE (mounted: ${options:-unknown}):"
    case ",$options," in
        *,data=writeback,* | *,nobarrier,* | *,barrier=0,*)
            say "  NOT SAFE: this mount may lose what was already saved. Use data=ordered with barriers." ;;
        *) say "  no unsafe mount option found." ;;
    esac
    case ",$options," in
        *,errors=remount-ro,*) ;;
        *) say "  advice: mount the data partition with errors=remount-ro,noatime." ;;
    esac
    say "  advice: keep the root file system read-only and $STATE on a partition of its own;"
    say "  advice: a tablet battery or a 10 s hold-up supply is better than any software."
    # The rules keep the modem manager off our adapters; the others open a port by its chip alone.
    for service in ModemManager brltty brltty-udev gpsd; do
        if systemctl is-enabled "$service" >/dev/null 2>&1; then
            say "  $service is enabled and may grab a serial adapter: systemctl mask --now $service"
        fi
    done
    if installed brltty; then
        say "  brltty takes common serial adapters for braille displays: apt-get remove brltty"
    fi
}

uninstall() {
    local unit
    for unit in cabapp.service cabapp-x.service; do
        if [ -f "/etc/systemd/system/$unit" ]; then
            if [ -d /run/systemd/system ]; then
                step systemctl disable --now "$unit"
            else
                step systemctl --root=/ disable "$unit"
            fi
            step rm -f "/etc/systemd/system/$unit"
        fi
    done
    step rm -f "/etc/systemd/system/cabapp-stick@.service"
    step rm -f /etc/udev/rules.d/70-cabapp-serial.rules /etc/X11/xorg.conf.d/10-cabapp-screen.conf
    step rm -rf "$TARGET"
    if [ -d /run/systemd/system ]; then step systemctl daemon-reload; fi
    say "Removed. Rig, book and runs are still in $STATE; the account $ACCOUNT is still there."
}

main() {
    local action=install word
    for word in "$@"; do
        case $word in
            --dry-run) DRY=yes ;;
            --uninstall) action=uninstall ;;
            --help | -h)
                sed -n '2,9s/^# \{0,1\}//p' "$0"
                exit 0
                ;;
            *) fail "unknown word: $word (use --dry-run, --uninstall or nothing)" ;;
        esac
    done
    if [ "$DRY" = no ] && [ "$(id -u)" -ne 0 ]; then
        fail "Run it as root: sudo bash config/kiosk/install.sh"
    fi
    if [ "$action" = uninstall ]; then
        uninstall
        return
    fi
    check_machine
    install_packages
    check_python
    make_account
    install_version
    install_system_files
    start
    advise
    say ""
    say "Done. Turn the key off and on: the app comes up full screen."
}

main "$@"
