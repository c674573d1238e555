#!/bin/busybox sh
# First program of the emulated PC: drivers, the folders of the host, then whatever the host leaves to be done.
/bin/busybox --install -s /bin
mount -t proc proc /proc
mount -t sysfs sys /sys
mount -t devtmpfs dev /dev
mkdir -p /dev/pts /dev/shm
mount -t devpts devpts /dev/pts
mount -t tmpfs memory /dev/shm
mount -t tmpfs memory /tmp
for module in /drivers/*; do insmod "$module"; done
ip link set lo up

while read -r tag place access; do
    caching=loose
    [ "$access" = rw ] && caching=none
    mkdir -p "$place"
    mount -t 9p -o "trans=virtio,version=9p2000.L,msize=524288,cache=$caching,$access" "$tag" "$place"
done </shares

export HOME=/tmp LANG=C.UTF-8 TERM=dumb LD_LIBRARY_PATH=/lib/python
export PYTHONHOME=/usr PYTHONPATH=/lab/project:/lab/packages PYTHONUNBUFFERED=1 PYTHONDONTWRITEBYTECODE=1
cd /lab/exchange || exec sh
echo up >ended/boot
while :; do
    for order in to_do/*.sh; do
        [ -e "$order" ] || continue
        name=${order##*/}
        name=${name%.sh}
        mv "$order" "taken/$name.sh"
        (
            sh "taken/$name.sh" >"out/$name" 2>"err/$name" </dev/null
            echo $? >"ended/$name.part"
            mv "ended/$name.part" "ended/$name"
        ) &
    done
    sleep 0.1
done
