"use strict";

/* Which slide is shown: its number stands behind the # of the address, so that a reload, or a
 * bookmark, comes back to it. */
(() => {
    const root = document.documentElement;
    const slides = Array.from(document.querySelectorAll("section"));
    const status = document.getElementById("now");
    const SWIPE_PX = 40; /* less is a tap */
    const STILL_MS = 2500; /* until the pointer is hidden */
    let now = -1;
    let wanted = 0;

    const clamp = (k) => Math.min(Math.max(k, 0), slides.length - 1);

    const reveal = (k) => {
        if (k !== wanted || k === now)
            return;
        slides.forEach((slide, i) => slide.classList.toggle("now", i === k));
        now = k;
        status.textContent = slides[k].getAttribute("aria-label");
    };

    /* A slide is shown when its picture is ready: until then the last one stays. */
    const show = (k) => {
        wanted = clamp(k);
        const asked = wanted;
        const address = "#" + (wanted + 1);
        if (location.hash !== address)
            history.replaceState(null, "", address);
        const ready = () => {
            reveal(asked);
            [asked + 1, asked - 1].filter((i) => i === clamp(i))
                .forEach((i) => slides[i].querySelector("img").decode().catch(() => {}));
        };
        slides[asked].querySelector("img").decode().then(ready, ready);
    };

    const fromAddress = () => {
        const number = parseInt(location.hash.slice(1), 10);
        return Number.isNaN(number) ? 0 : number - 1;
    };

    const fill = () => {
        if (document.fullscreenElement)
            document.exitFullscreen();
        else if (root.requestFullscreen)
            root.requestFullscreen().catch(() => {});
    };

    const leave = () => {
        if (document.fullscreenElement)
            document.exitFullscreen();
        root.classList.remove("notes");
    };

    const next = () => show(wanted + 1);
    const back = () => show(wanted - 1);
    const keys = {
        ArrowRight: next, ArrowDown: next, PageDown: next, Enter: next,
        ArrowLeft: back, ArrowUp: back, PageUp: back, Backspace: back,
        Home: () => show(0), End: () => show(slides.length - 1),
        f: fill, F: fill, Escape: leave,
        n: () => root.classList.toggle("notes"), N: () => root.classList.toggle("notes"),
    };

    addEventListener("keydown", (event) => {
        if (event.ctrlKey || event.altKey || event.metaKey)
            return;
        const act = event.key === " " ? (event.shiftKey ? back : next) : keys[event.key];
        if (!act)
            return;
        event.preventDefault();
        act();
    });

    /* A swipe turns the page the way of the finger; a tap or a click does by the half it is in. Of
     * two fingers the browser makes what it will. */
    let start = null;
    addEventListener("touchstart", (event) => {
        start = event.touches.length === 1 ? event.touches[0] : null;
    }, { passive: true });
    addEventListener("touchend", (event) => {
        if (!start)
            return;
        const dx = event.changedTouches[0].clientX - start.clientX;
        const dy = event.changedTouches[0].clientY - start.clientY;
        start = null;
        if (Math.abs(dx) < SWIPE_PX || Math.abs(dx) < Math.abs(dy))
            return;
        if (event.cancelable)
            event.preventDefault(); /* no click after it */
        (dx < 0 ? next : back)();
    }, { passive: false });
    addEventListener("click", (event) => {
        if (event.button === 0)
            (event.clientX < innerWidth / 2 ? back : next)();
    });

    let timer = 0;
    addEventListener("pointermove", () => {
        root.classList.remove("still");
        clearTimeout(timer);
        timer = setTimeout(() => root.classList.add("still"), STILL_MS);
    });

    addEventListener("hashchange", () => show(fromAddress()));
    root.classList.add("playing");
    show(fromAddress());
})();
