"""Folders in which a book must not lie: on the network, or copied by a program that mirrors folders elsewhere.

Decides: from the mount table and from folder names alone. A database whose file is written by two machines, or copied
while it is written, breaks; so does the promise that personal data stays here.

>>> trouble(Path("/home/ada/shop"), "/dev/sda1 / ext4 rw 0 0")
>>> trouble(Path("/srv/shop"), "/dev/sda1 / ext4 rw 0 0\\nbox:/srv /srv nfs4 rw 0 0")
'it lies on a network drive (nfs4); move it to a disk of this machine'
"""

import os
from pathlib import Path, PurePath

MOUNTS = Path("/proc/mounts")

# File systems whose files live on another machine, as Linux names them in its mount table.
_NETWORK = frozenset({
    "nfs", "nfs4", "cifs", "smb3", "smbfs", "afs", "ceph", "9p", "coda", "ncpfs", "lustre", "gpfs", "beegfs", "ocfs2",
    "gfs2", "glusterfs", "davfs", "afpfs", "webdav", "vboxsf", "fuse.sshfs", "fuse.rclone", "fuse.glusterfs",
    "fuse.davfs2", "fuse.s3fs", "fuse.cephfs", "fuse.curlftpfs", "fuse.smbnetfs",
})  # fmt: skip
# What programs that mirror folders call them, lower case; and the marks they leave inside.
_MIRRORED = (
    "dropbox", "onedrive", "icloud", "mobile documents", "cloudstorage", "google drive", "googledrive", "my drive",
    "nextcloud", "owncloud", "syncthing", "resilio", "pcloud", "seafile", "box sync", "creative cloud files",
)  # fmt: skip
_MARKS = (".stfolder", ".sync", ".owncloudsync.log", ".dropbox", ".dropbox.cache", ".seafile-data")


def trouble(folder: Path, mounts: str | None = None) -> str | None:
    """Why a book must not lie in this folder, ending with what to do; None when nothing speaks against it.

    mounts: text of the mount table; None reads the machine's own, where it has one.
    """
    whole = Path(os.path.realpath(folder))
    if str(folder).startswith(("\\\\", "//")):
        return "it lies on a network drive (a path of another machine); move it to a disk of this machine"
    kind = _file_system(whole, _read(MOUNTS) if mounts is None else mounts)
    if kind in _NETWORK:
        return f"it lies on a network drive ({kind}); move it to a disk of this machine"
    named = next((name for name in whole.parts for word in _MIRRORED if name.lower().startswith(word)), None)
    marked = next((where for where in (whole, *whole.parents) for mark in _MARKS if (where / mark).exists()), None)
    if named is not None or marked is not None:
        where = named if named is not None else str(marked)
        return f"it is mirrored to other machines (by the folder {where}); move it out of there, and back up instead"
    return None


def _read(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8", errors="replace")
    except OSError:
        return ""


def _file_system(folder: PurePath, mounts: str) -> str:
    """The kind of the file system that a folder lies on; empty where the machine does not say.

    Source: proc(5) and fstab(5): device, mount point, type, options; spaces in names as octal escapes.
    """
    found, longest = "", -1
    for line in mounts.splitlines():
        fields = line.split(" ")
        if len(fields) < 3:
            continue
        point = PurePath(fields[1].replace("\\040", " ").replace("\\011", "\t").replace("\\134", "\\"))
        # Of two mounts on one point the later hides the earlier.
        if folder.is_relative_to(point) and len(point.parts) >= longest:
            found, longest = fields[2], len(point.parts)
    return found
