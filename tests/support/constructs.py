"""Constructs of SVG, each as a small drawing.

`CASES` are those that must come out as an independent renderer draws them; `TOLD` those that the reader leaves out or
simplifies, and says so. docs/drawing-support.md is the table of what a run makes of both. The texts begin after the
size of the page, `HEAD`, or stand whole.
"""

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="100" height="100" '

CASES: dict[str, str] = {
    "use and symbol": 'viewBox="0 0 100 100"><symbol id="s" viewBox="0 0 20 10">'
    '<rect width="20" height="10" rx="3"/>'
    '</symbol><g fill="#c03"><use href="#s" x="10" y="10" width="40" height="40"/>'
    '<use xlink:href="#s" x="50" y="60" width="45" height="20" fill="#06c"/></g>',
    "symbol sticks out": 'viewBox="0 0 100 100"><symbol id="s" viewBox="0 0 10 10">'
    '<circle cx="10" cy="5" r="6"/></symbol>'
    '<g><use href="#s" width="40" height="40" x="20" y="20"/></g>',
    "symbol slice": 'viewBox="0 0 100 100"><symbol id="s" viewBox="0 0 20 10" preserveAspectRatio="xMaxYMin slice">'
    '<circle cx="14" cy="5" r="4"/></symbol><g><use href="#s" width="50" height="60" x="20" y="20"/></g>',
    "use of use": 'viewBox="0 0 100 100"><defs><rect id="a" width="20" height="8"/>'
    '<g id="b" transform="rotate(20)"><use href="#a"/><use href="#a" y="15" x="5"/></g></defs>'
    '<g><use href="#b" x="30" y="10"/><use href="#b" transform="translate(20 50) scale(1.5)"/></g>',
    "use of nested svg": 'viewBox="0 0 100 100"><defs><svg id="n" width="20" height="20" viewBox="0 0 5 5">'
    '<circle cx="2.5" cy="2.5" r="2.5"/></svg></defs><g><use href="#n" x="10" y="10"/>'
    '<use href="#n" x="40" y="40" width="50" height="30"/></g>',
    "clip path user space": 'viewBox="0 0 100 100"><clipPath id="c"><circle cx="50" cy="50" r="30"/></clipPath>'
    '<g clip-path="url(#c)" transform="translate(10 -5)"><rect x="10" y="45" width="70" height="50" '
    'fill="#080"/></g>',
    "clip path box units": 'viewBox="0 0 100 100"><clipPath id="c" clipPathUnits="objectBoundingBox">'
    '<path d="M.5 0L1 1H0z"/></clipPath><g><rect x="10" y="20" width="70" height="40" clip-path="url(#c)"/>'
    '<circle cx="70" cy="75" r="20" transform="rotate(10)" clip-path="url(#c)"/></g>',
    "clip path on a group by box": 'viewBox="0 0 100 100"><clipPath id="c" clipPathUnits="objectBoundingBox">'
    '<circle cx=".5" cy=".5" r=".5"/></clipPath><g clip-path="url(#c)"><rect x="10" y="20" width="30" height="30"/>'
    '<rect x="50" y="50" width="40" height="30"/></g>',
    "clip on a clip": 'viewBox="0 0 100 100"><clipPath id="a"><rect x="20" y="20" width="60" height="30"/>'
    "</clipPath>"
    '<clipPath id="b" clip-path="url(#a)"><circle cx="50" cy="50" r="40"/></clipPath>'
    '<g clip-path="url(#b)"><rect width="100" height="100"/></g>',
    "clip rule and a clipped child": 'viewBox="0 0 100 100"><clipPath id="i"><rect width="60" height="100"/>'
    "</clipPath>"
    '<clipPath id="c"><path clip-rule="evenodd" d="M10 10h60v60h-60zM25 25h30v30h-30z" transform="rotate(5)"/>'
    '<circle cx="60" cy="88" r="11" clip-path="url(#i)"/></clipPath>'
    '<g clip-path="url(#c)"><rect width="100" height="100"/></g>',
    "use in a clip path": 'viewBox="0 0 100 100"><defs><ellipse id="e" rx="30" ry="15"/></defs>'
    '<clipPath id="c" transform="translate(0 10)"><use href="#e" x="50" y="40"/></clipPath>'
    '<g clip-path="url(#c)"><rect width="100" height="100"/></g>',
    "clip paths of a use with x and y, of an svg and a symbol": 'viewBox="0 0 100 100"><clipPath id="c"><circle '
    'cx="10" cy="10" r="8"/></clipPath><symbol id="s" viewBox="0 0 20 20" clip-path="url(#c)"><rect width="20" '
    'height="20"/></symbol><g fill="#c03"><use href="#s" x="50" width="50" height="50"/><use href="#q" x="10" y="5" '
    'clip-path="url(#c)"/><svg x="10" y="50" width="40" height="40" viewBox="0 0 20 20" clip-path="url(#c)"><rect '
    'id="q" width="20" height="20"/></svg></g>',
    "clip path on the whole drawing": 'viewBox="0 0 50 50" clip-path="url(#c)"><clipPath id="c"><circle cx="25" '
    'cy="25" r="20"/></clipPath><g><rect width="50" height="30" fill="#06c"/></g><g><rect y="20" width="30" '
    'height="30" fill="#c60"/></g>',
    "empty clip path": 'viewBox="0 0 100 100"><clipPath id="c"/><g>'
    '<rect width="50" height="50" clip-path="url(#c)"/>'
    '<rect x="60" width="20" height="20"/></g>',
    "nested svg slice": 'viewBox="0 0 100 100"><g><svg x="10" y="20" width="70" height="40" viewBox="0 0 10 10" '
    'preserveAspectRatio="xMinYMax slice"><circle cx="5" cy="5" r="5"/></svg></g>',
    "nested svg meet": 'viewBox="0 0 100 100"><g><svg x="10" y="20" width="70%" height="40" viewBox="2 2 10 10" '
    'preserveAspectRatio="xMaxYMid"><rect x="2" y="2" width="10" height="10"/></svg></g>',
    "nested svg visible": 'viewBox="0 0 100 100"><g><svg x="30" y="30" width="20" height="20" overflow="visible">'
    '<circle cx="10" cy="10" r="20"/></svg></g>',
    "dashes": 'viewBox="0 0 100 100"><g fill="none" stroke="#000" stroke-width="6" stroke-dasharray="12 5 3">'
    '<path d="M10 20C40 -10 60 60 90 20"/><path d="M10 60h70v25" stroke-dashoffset="-7" '
    'stroke-linecap="square"/></g>',
    "dashes on closed shapes": 'viewBox="0 0 100 100"><g fill="none" stroke="#000" stroke-width="5">'
    '<rect x="10" y="10" width="35" height="30" stroke-dasharray="9 6" rx="4"/>'
    '<circle cx="70" cy="60" r="22" stroke-dasharray="20 10" stroke-linecap="round" stroke-dashoffset="13"/></g>',
    "caps": 'viewBox="0 0 100 100"><g stroke="#000" stroke-width="12"><path d="M20 20H80"/>'
    '<path d="M20 45H80" stroke-linecap="round"/><path d="M20 70L80 80" stroke-linecap="square"/>'
    '<path d="M50 95h0" stroke-linecap="round"/></g>',
    "joins": 'viewBox="0 0 100 100"><g fill="none" stroke="#000" stroke-width="10"><path d="M10 30L25 10 40 30"/>'
    '<path d="M55 30L70 10 85 30" stroke-linejoin="round"/><path d="M10 80L25 60 40 80" stroke-linejoin="bevel"/>'
    '<path d="M55 85L70 60 85 85z"/></g>',
    "miter limit": 'viewBox="0 0 100 100"><g fill="none" stroke="#000" stroke-width="8">'
    '<path d="M10 40L25 12 40 40"/>'
    '<path d="M55 40L70 12 85 40" stroke-miterlimit="2"/><path d="M10 90L22 55 28 90" stroke-miterlimit="20"/>'
    '<path d="M60 90L70 55 76 90"/></g>',
    "tight curves in a thick stroke": 'viewBox="0 0 100 100"><g fill="none" stroke="#000" stroke-width="16">'
    '<path d="M15 70C15 10 30 10 30 70"/><path d="M50 40C90 40 55 45 60 80L85 85" stroke-linejoin="round"/></g>',
    "skewed stroke": 'viewBox="0 0 100 100"><g fill="none" stroke="#000" stroke-width="6">'
    '<circle cx="20" cy="20" r="12" transform="skewX(30) scale(1 2)" stroke-dasharray="9 4"/>'
    '<path d="M10 10L20 25 8 30" transform="matrix(2 .5 -1 1.5 50 20)" stroke-linecap="round" '
    'stroke-linejoin="round"/></g>',
    "mirrored": 'viewBox="0 0 100 100"><g transform="translate(100 0) scale(-1 1)"><path d="M10 10h50l-20 60z" '
    'stroke="#f00" stroke-width="5"/></g>',
    "evenodd compound": 'viewBox="0 0 100 100"><g><path fill-rule="evenodd" d="M10 10H90V90H10zM20 20H60V60H20z'
    'M40 40H80V80H40zM45 45h5v5h-5z"/></g>',
    "nonzero compound": 'viewBox="0 0 100 100"><g><path d="M10 10H90V90H10zM20 20V60H60V20zM40 '
    '40V80H80V40zM25 25h5v5h-5z"/></g>',
    "star both ways": 'viewBox="0 0 600 400"><g><path d="M250,75 L323,301 131,161 369,161 177,301 z"/>'
    '<path transform="translate(250 50)" fill-rule="evenodd" d="M250,75 L323,301 131,161 369,161 177,301 z"/></g>',
    "arcs with packed flags": 'viewBox="0 0 10 10"><g><path d="M2 2a1 1 0 00.5.5"/>'
    '<path d="M3 3a2 1.5 30 112.5 1.5z"/>'
    '<path d="M1 8A2 1 0 0 1 5 8.5zM6 8a.5.5 0 1 1 3 0"/></g>',
    "smooth curves": 'viewBox="0 0 100 100"><g><path d="M10 20c10-20 20-20 30 0s20 20 30 0l0 30Q60 70 50 '
    '50T30 50t-20 0z"/></g>',
    "path error": 'viewBox="0 0 100 100"><g><path d="M10 10H50V50L20 60 X 90 90 0 90z"/></g>',
    "selectors": 'viewBox="0 0 100 100"><style>#a > rect{fill:#00f} .k .d{fill:#0a0} rect + rect{fill:#f80} '
    'g rect[width="9"]{display:none} circle:first-child{fill:#808}</style><g id="a"><rect width="20" height="20"/>'
    '<g class="k"><circle class="d" cx="50" cy="20" r="10"/></g><rect y="40" width="9" height="20"/></g>'
    '<g class="k j"><circle cx="50" cy="70" r="8"/><rect x="10" y="70" width="10" height="10"/>'
    '<rect x="70" y="70" width="10" height="10"/></g>',
    "cascade order": 'viewBox="0 0 100 100"><style>rect{fill:#00f !important} '
    ".b{stroke:#0f0;stroke-width:4}</style>"
    '<g stroke="#f00"><rect x="10" y="10" width="30" height="30" fill="#f00" style="fill:#ff0"/>'
    '<rect class="b" x="55" y="10" width="30" height="30" stroke="#000"/>'
    '<circle cx="30" cy="70" r="15" style="fill:#ff0;stroke:inherit;stroke-width:3"/></g>',
    "currentColor": 'viewBox="0 0 100 100"><g color="#c00" fill="currentColor"><rect width="30" height="30"/>'
    '<rect x="40" width="30" height="30" color="#0a0"/></g>',
    "switch": 'viewBox="0 0 100 100"><g><switch><rect systemLanguage="xx" width="90" height="90"/>'
    '<g systemLanguage="de, en"><rect x="20" y="20" width="30" height="30"/></g><rect width="50" height="50"/>'
    "</switch></g>",
    "transforms": 'viewBox="0 0 100 100"><g transform="translate(50,50) rotate(-30)"><rect width="30" height="10" '
    'transform="scale(1.2 -1) skewX(20)"/><ellipse cx="-20" cy="10" rx="18" ry="7" transform="rotate(40 -20 '
    '10)"/></g>',
    "opacity": 'viewBox="0 0 100 100"><g opacity=".8"><rect width="30" height="30" fill-opacity=".9" fill="#000"/>'
    '<rect x="40" width="30" height="30" fill-opacity=".4"/><rect y="40" width="30" height="30" opacity=".5" '
    "/></g>",
    "paint order": 'viewBox="0 0 100 100"><g fill="#0a0" stroke="#c00" stroke-width="12">'
    '<rect x="15" y="15" width="30" height="30" paint-order="stroke"/>'
    '<rect x="60" y="60" width="25" height="25"/></g>',
    "gradients": 'viewBox="0 0 100 100"><linearGradient id="g"><stop stop-color="#f00"/>'
    '<stop offset="1" stop-color="#00f"/>'
    '</linearGradient><radialGradient id="h" href="#g"/><linearGradient id="e"/>'
    '<g><rect width="40" height="40" fill="url(#g)"/><rect x="50" width="40" height="40" fill="url(#h)"/>'
    '<rect y="50" width="40" height="40" fill="url(#e)"/><rect x="50" y="50" width="40" height="40" '
    'fill="url(#no) #0a0"/></g>',
    "visibility and display": 'viewBox="0 0 100 100"><g visibility="hidden"><rect width="30" height="30"/>'
    '<rect x="40" width="30" height="30" visibility="visible"/><g display="none">'
    '<rect y="50" width="30" height="30" '
    'visibility="visible"/></g></g>',
    "rounded rects": 'viewBox="0 0 100 100"><g><rect x="5" y="5" width="40" height="30" rx="10"/>'
    '<rect x="55" y="5" width="40" height="30" rx="40" ry="5"/>'
    '<rect x="5" y="55" width="40" height="30" ry="90"/></g>',
    "percentages": 'viewBox="0 0 200 100"><g><rect x="10%" y="10%" width="30%" height="50%"/>'
    '<circle cx="70%" cy="50%" r="10%"/><line x1="0" y1="90%" x2="100%" y2="90%" stroke="#000" '
    'stroke-width="3%"/></g>',
    "polygons": 'viewBox="0 0 100 100"><g><polygon points="10,10 50,10 30 40"/>'
    '<polyline points="60 10 90 10 75 40" '
    'stroke="#f00" stroke-width="4"/><polyline points="10,60 40,60 25" /></g>',
    "slanted page": 'viewBox="10 20 80 40" preserveAspectRatio="xMinYMax"><g><circle cx="40" cy="40" r="15"/></g>',
    "layers with sub-layers": 'viewBox="0 0 100 100"><g id="back"><g id="sky" transform="translate(5 5)">'
    '<rect width="90" height="50" fill="#9cf"/></g><g><g><circle cx="70" cy="30" r="12" fill="#fc0"/></g></g></g>'
    '<g id="front"><g><path d="M0 60h100v40H0z" fill="#470"/></g></g>',
    "layers inside a lone wrapper": 'viewBox="0 0 100 100"><g transform="scale(.5)" fill="#06c"><g id="a">'
    '<rect width="90" height="90"/></g><g id="b"><circle cx="120" cy="120" r="50" fill="#c60"/></g></g>',
    "labels in a foreign namespace": '<svg xmlns="http://www.w3.org/2000/svg" xmlns:e="urn:editor" width="100" '
    'height="100"><e:view zoom="2"/><g e:groupmode="layer" e:label="Sky &amp; sea"><rect e:label="sea" y="50" '
    'width="100" height="40" fill="#06c"/><e:note>words</e:note></g></svg>',
    "classes of an exported style sheet": 'viewBox="0 0 100 100"><style type="text/css"><![CDATA[ .st0{fill:#8B4513;}'
    " .st1,.st2{fill:none;stroke:#228B22;stroke-width:6;} .st2{stroke-linecap:round;} ]]></style>"
    '<g id="a"><rect class="st0" width="50" height="30"/><path class="st1" d="M10 50H90"/>'
    '<path class="st2 st9" d="M20 80H80"/></g>',
    "a page in px, 96 to the inch": '<svg xmlns="http://www.w3.org/2000/svg" width="400px" height="300px"><g>'
    '<rect x="96" y="96" width="96" height="96" fill="#a40"/><rect x="2in" y="10mm" '
    'width="1in" height="10mm"/></g></svg>',
    "a page with only a viewBox": '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 72 72"><g>'
    '<circle cx="36" cy="36" r="20" fill="#a40"/></g></svg>',
    "a page in mm with a viewBox": '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="50mm" '
    'viewBox="0 0 200 100"><g><rect x="20" y="20" width="90" height="50" fill="#a40"/></g></svg>',
    "sketches with display:none": 'viewBox="0 0 100 100"><g id="sketch" style="display:none"><rect width="100" '
    'height="100"/></g><g id="a"><rect width="40" height="40"/><g display="none">'
    '<rect x="50" width="40" height="40"/></g><rect y="50" width="40" height="40" style="display:none"/></g>',
    "transforms on layers": 'viewBox="0 0 100 100"><g transform="translate(20 10) rotate(15)"><rect width="40" '
    'height="30" fill="#c03"/></g><g transform="matrix(-.8 0 .2 .8 90 5)"><rect y="40" width="50" height="30"/></g>',
    "transform-origin and transform in CSS": 'viewBox="0 0 100 100"><style>.t{transform:scale(1.5 .5)}</style><g>'
    '<rect x="30" y="40" width="40" height="20" transform="rotate(45)" transform-origin="50 50" fill="#c03"/>'
    '<rect class="t" y="150" width="20" height="40"/></g>',
    "linear gradients": 'viewBox="0 0 100 100"><defs><linearGradient id="g" gradientUnits="userSpaceOnUse" x1="0" '
    'x2="100" spreadMethod="reflect" gradientTransform="rotate(30)"><stop stop-color="#f00"/>'
    '<stop offset="1" style="stop-color:#00f;stop-opacity:.9"/></linearGradient></defs>'
    '<g><rect width="60" height="40" fill="url(#g)"/>'
    '<path d="M10 70H90" stroke="url(#g)" stroke-width="20" fill="none"/></g>',
    "radial gradients with a focus": 'viewBox="0 0 100 100"><radialGradient id="g" cx=".5" cy=".5" r=".5" fx=".2" '
    'fy=".2" fr="5%"><stop offset="10%" stop-color="gold"/><stop offset="1" stop-color="maroon"/></radialGradient>'
    '<g><circle cx="50" cy="50" r="40" fill="url(#g)"/></g>',
    "gradients of one stop": 'viewBox="0 0 100 100"><linearGradient id="g"><stop stop-color="#336699"/>'
    '</linearGradient><g><rect width="60" height="40" fill="url(#g)"/></g>',
    "currentColor from a style sheet": 'viewBox="0 0 100 100"><style>.w{color:#963}</style><g class="w">'
    '<rect width="50" height="50" fill="currentColor"/><path d="M0 80H90" stroke="currentColor" '
    'stroke-width="9"/></g>',
    "clip paths on layers and groups": 'viewBox="0 0 100 100"><clipPath id="c"><circle cx="50" cy="50" r="35"/>'
    '</clipPath><clipPath id="d"><rect x="30" width="40" height="100"/></clipPath><g clip-path="url(#c)">'
    '<rect width="100" height="60" fill="#06c"/><g clip-path="url(#d)"><rect y="60" width="100" height="40" '
    'fill="#c60"/></g></g>',
    "units of lengths": 'viewBox="0 0 400 400"><g font-size="20"><rect width="1in" height="10mm"/><rect y="100" '
    'width="5em" height="2cm"/><rect y="200" width="72pt" height="6pc"/><rect y="300" '
    'width="80pt" height="50px"/></g>',
    "colours of every form": 'viewBox="0 0 100 100"><g><rect width="20" height="20" fill="darkolivegreen"/>'
    '<rect x="25" width="20" height="20" fill="rgb(10%,50%,90%)"/><rect x="50" width="20" height="20" '
    'fill="hsl(120,50%,40%)"/><rect y="25" width="20" height="20" fill="#abc"/><rect x="25" y="25" width="20" '
    'height="20" fill="rgba(200,100,50,.9)"/><rect x="50" y="25" width="20" height="20" fill="#33669988"/></g>',
    "empty layers between": 'viewBox="0 0 100 100"><g id="a"><rect width="40" height="40"/></g><g id="b"/>',
    "a switch and links": 'viewBox="0 0 100 100"><g><a href="#x"><rect width="40" height="40"/></a><switch>'
    '<rect requiredExtensions="urn:x" width="90" height="90"/><circle cx="70" cy="70" r="20"/></switch></g>',
}


PAINT: dict[str, str] = {
    "a sky from the bottom upwards": 'viewBox="0 0 100 100"><linearGradient id="g" gradientUnits="userSpaceOnUse" '
    'x1="0" y1="100" x2="0" y2="10"><stop stop-color="#ff9a3c"/><stop offset=".4" stop-color="#d1495b"/>'
    '<stop offset="1" stop-color="#1f3892"/></linearGradient><g><rect width="100" height="100" fill="url(#g)"/></g>',
    "gradient on a turned shape's box": 'viewBox="0 0 100 100"><linearGradient id="g" y2="1"><stop '
    'stop-color="#c03"/><stop offset="1" stop-color="#06c"/></linearGradient><g><rect x="30" y="10" width="50" '
    'height="30" transform="rotate(20) skewX(15)" fill="url(#g)"/><circle cx="35" cy="75" r="20" '
    'fill="url(#g)"/></g>',
    "gradient transforms and spreads": 'viewBox="0 0 100 100"><linearGradient id="a" gradientUnits="userSpaceOnUse" '
    'x1="10" x2="30" gradientTransform="rotate(30) skewX(20)" spreadMethod="reflect"><stop stop-color="#c03"/><stop '
    'offset="1" stop-color="#fc0"/></linearGradient><linearGradient id="b" href="#a" spreadMethod="repeat" '
    'gradientTransform="scale(2 1)"/><g><rect width="100" height="50" fill="url(#a)"/><rect y="50" width="100" '
    'height="50" fill="url(#b)"/></g>',
    "round gradients with a focus": 'viewBox="0 0 100 100"><radialGradient id="a" fx=".3" fy=".25"><stop '
    'stop-color="#fff"/><stop offset="1" stop-color="#06c"/></radialGradient><radialGradient id="b" '
    'gradientUnits="userSpaceOnUse" cx="70" cy="70" r="25" fx="60" spreadMethod="reflect" gradientTransform='
    '"translate(0 -20) scale(1 1.3)"><stop stop-color="#fc0"/><stop offset="1" stop-color="#363"/></radialGradient>'
    '<g><rect width="100" height="50" fill="url(#a)"/><rect y="50" width="100" height="50" fill="url(#b)"/></g>',
    "gradients with translucent stops": 'viewBox="0 0 100 100"><radialGradient id="a"><stop stop-color="#ffe9a0"/>'
    '<stop offset="1" stop-color="#ffb000" stop-opacity="0"/></radialGradient><linearGradient id="b"><stop '
    'stop-color="#1f3892"/><stop offset="1" stop-color="#d1495b"/></linearGradient><g><rect width="100" '
    'height="100" fill="url(#b)"/></g><g><circle cx="50" cy="50" r="40" fill="url(#a)"/></g>',
    "nested group opacity": 'viewBox="0 0 100 100"><g><rect width="100" height="100" fill="#88aacc"/></g><g '
    'opacity=".8"><path d="M0 75L100 90V100H0z" fill="#4c7a34"/><g opacity=".5"><rect x="10" y="10" width="50" '
    'height="50" fill="#c03"/><circle cx="60" cy="60" r="25" fill="#fc0"/></g><rect x="20" y="50" width="60" '
    'height="20" fill="#000" fill-opacity=".3"/></g>',
    "glazes over several sheets": 'viewBox="0 0 100 100"><g><rect width="100" height="100" fill="#d1495b"/></g><g>'
    '<path d="M0 60L40 30 100 70V100H0z" fill="#4c7a34"/><rect x="60" y="10" width="30" height="60" fill="#88ccff" '
    'fill-opacity=".4"/></g><g><path d="M0 90H100V100H0z" fill="#18221a"/><g fill-opacity=".25"><path '
    'd="M0 50L60 20 100 60V100H0z"/><path d="M0 80L50 50 100 90V100H0z"/></g></g>',
    "alpha masks": 'viewBox="0 0 100 100"><linearGradient id="f"><stop stop-color="#000"/><stop offset="1" '
    'stop-color="#000" stop-opacity="0"/></linearGradient><mask id="m" mask-type="alpha" style="mask-type:alpha">'
    '<rect width="100" height="100" fill="url(#f)"/></mask><g><rect width="100" height="100" fill="#1f3892"/></g>'
    '<g><rect x="10" y="10" width="80" height="80" fill="#fc0" mask="url(#m)"/></g>',
    "luminance masks in both units": 'viewBox="0 0 100 100"><radialGradient id="f"><stop stop-color="#fff"/><stop '
    'offset="1" stop-color="#000"/></radialGradient><mask id="m" maskUnits="userSpaceOnUse" x="0" y="0" width="70" '
    'height="100"><circle cx="40" cy="30" r="28" fill="url(#f)"/></mask><mask id="n" '
    'maskContentUnits="objectBoundingBox"><rect width=".6" height="1" fill="#fff"/><rect x=".6" width=".4" '
    'height="1" fill="#888"/></mask><g><rect width="100" height="100" fill="#18221a"/></g><g><rect width="100" '
    'height="60" fill="#fc0" mask="url(#m)"/><rect x="20" y="65" width="60" height="30" fill="#c8502f" '
    'mask="url(#n)"/></g>',
    "brick and shingle patterns": 'viewBox="0 0 100 100"><pattern id="b" width="20" height="16" '
    'patternUnits="userSpaceOnUse"><rect width="20" height="16" fill="#8a4a3a"/><rect width="18" height="6" '
    'fill="#c8502f"/><rect x="-10" y="8" width="18" height="6" fill="#b0483a"/><rect x="10" y="8" width="18" '
    'height="6" fill="#b0483a"/></pattern><pattern id="s" width=".2" height=".25" '
    'patternContentUnits="objectBoundingBox" patternTransform="rotate(10)"><rect width=".2" height=".25" '
    'fill="#556"/><rect width=".16" height=".2" fill="#99a"/></pattern><g><rect width="100" height="50" '
    'fill="url(#b)"/><path d="M10 95L50 55 90 95z" fill="url(#s)"/></g>',
    "a pattern in a pattern": 'viewBox="0 0 100 100"><pattern id="i" width="20" height="20" '
    'patternUnits="userSpaceOnUse"><rect width="20" height="20" fill="#fc0"/><rect width="12" height="12" '
    'fill="#c03"/></pattern><pattern id="o" width="60" height="60" patternUnits="userSpaceOnUse"><rect width="60" '
    'height="60" fill="#06c"/><rect x="5" y="5" width="46" height="46" fill="url(#i)"/></pattern><g><rect '
    'width="100" height="100" fill="url(#o)"/></g>',
    "a pattern that can't be drawn gives its fallback": 'viewBox="0 0 100 100"><pattern id="p"><rect width="9" '
    'height="9" fill="#c03"/></pattern><pattern id="q" width="10" height="10" patternUnits="userSpaceOnUse" '
    'href="#gone"/><g><rect width="45" height="45" fill="url(#p) #080"/><rect x="50" width="45" height="45" '
    'fill="url(  #q  ) #06c"/><rect y="50" width="45" height="45" fill="url(#p)"/><path d="M50 75H95" '
    'stroke="url(#q) #fc0" stroke-width="30"/></g>',
    "opacity on the whole drawing": 'viewBox="0 0 100 100" opacity=".7"><g><rect width="100" height="60" '
    'fill="#1f3892"/></g><g><rect x="20" y="20" width="60" height="60" fill="#fc0"/></g>',
    "a mask on the whole drawing": 'viewBox="0 0 50 50" mask="url(#m)"><linearGradient id="f"><stop '
    'stop-color="#fff"/><stop offset="1" stop-color="#888"/></linearGradient><mask id="m" maskUnits="userSpaceOnUse" '
    'x="0" y="0" width="50" height="40"><rect width="50" height="50" fill="url(#f)"/></mask><g><rect width="50" '
    'height="50" fill="#1f3892"/></g><g><rect x="10" y="10" width="30" height="30" fill="#fc0"/></g>',
    "pattern fills": '><pattern id="p" width="10" height="10" patternUnits="userSpaceOnUse"><rect '
    'width="6" height="6" fill="#c03"/></pattern><g><rect width="60" height="40" fill="url(#p)"/></g>',
    "masks": '><mask id="m"><rect width="30" height="60" fill="#fff"/></mask><g><rect width="60" height="60" '
    'mask="url(#m)"/></g>',
    "paint under half opacity": '><g><rect width="40" height="40" opacity=".3"/><rect x="50" width="40" height="40" '
    'fill-opacity=".9"/></g>',
}
"""Translucent and graded paint: the painted stack must have the colours."""

TOLD: dict[str, str] = {
    "pictures under the layers": '>IMAGE<g><rect width="40" height="40"/></g>',
    "pictures in a layer": '><g>IMAGE<rect width="40" height="40"/></g>',
    "markers": '><marker id="m" markerWidth="4" markerHeight="4" refX="2" refY="2"><circle cx="2" cy="2" r="2"/>'
    '</marker><g><path d="M20 20H80V80" stroke="#000" stroke-width="4" fill="none" marker-end="url(#m)"/></g>',
    "CSS variables": "><style>:root{--wood:#963} .w{fill:var(--wood)}</style>"
    '<g><rect class="w" width="40" height="40"/></g>',
    "calc() and other CSS functions": '><g><rect width="40" height="40" style="stroke:#c03;stroke-width:calc(2px + '
    '4px)"/></g>',
    "filters": '><filter id="f"><feOffset dx="20"/></filter><g><rect width="40" height="40" filter="url(#f)"/></g>',
    "blend modes": '><g><rect width="60" height="60" fill="#c03"/><rect x="20" y="20" width="60" height="60" '
    'fill="#06c" style="mix-blend-mode:multiply"/></g>',
    "mixing in linear light": '><linearGradient id="g" color-interpolation="linearRGB"><stop stop-color="#c03"/>'
    '<stop offset="1" stop-color="#06c"/></linearGradient><mask id="m" color-interpolation="linearRGB"><rect '
    'width="100" height="100" fill="#bbb"/></mask><g><rect width="100" height="40" fill="url(#g)"/><rect y="50" '
    'width="100" height="40" mask="url(#m)"/></g>',
    "a transform of the whole drawing": 'viewBox="0 0 100 100" transform="rotate(10)"><g><rect width="40" '
    'height="40"/></g>',
    "context-fill and context-stroke": '><g><rect width="40" height="40" fill="context-fill"/><rect y="50" '
    'width="40" height="40"/></g>',
    "clip paths as CSS shapes": '><g><rect width="60" height="60" style="clip-path:circle(20px at 30px 30px)"/></g>',
    "groups in clip paths": '><clipPath id="c"><g><rect width="30" height="30"/></g></clipPath><g><rect width="60" '
    'height="60" clip-path="url(#c)"/><rect x="70" width="20" height="20"/></g>',
    "HTML in a drawing": '><g><rect width="40" height="40"/><foreignObject width="50" height="50"/></g>',
    "animation": '><g><rect width="40" height="40"><animate attributeName="x" to="50" dur="1s"/></rect></g>',
    "style sheets outside the file": '><style>@import "other.css";</style><g><rect width="40" height="40"/></g>',
    "@media for screens": '><style>@media screen{rect{fill:#c03}}</style><g><rect width="40" height="40"/></g>',
    "a use of nothing": '><g><use href="#gone"/><use href="other.svg#leaf"/><rect width="40" height="40"/></g>',
    "CSS translate, rotate and scale": '><g><rect width="40" height="40" style="rotate:45deg"/></g>',
    "a malformed transform": '><g><rect width="40" height="40" transform="rotate(45"/></g>',
    "a malformed path": '><g><path d="M10 10H50V50L20 60 X 90 90 0 90z"/></g>',
    "text with spans": '><g font-size="20"><path d="M0 60h90v30H0z"/><text x="5" y="30">Mill'
    '<tspan dy="20">1820</tspan></text></g>',
    "shapes outside every layer": '><rect width="40" height="40"/><g><rect y="50" width="40" height="40"/></g>',
    "a drawing without layers": '><rect width="40" height="40"/>',
    "a page without a size": '<svg xmlns="http://www.w3.org/2000/svg"><g><rect width="40" height="40"/></g></svg>',
    "entities that lead out of the file": '<!DOCTYPE svg [<!ENTITY x SYSTEM "x.txt">]><svg '
    'xmlns="http://www.w3.org/2000/svg" width="9" height="9"><g><title>&x;</title><rect width="4" '
    'height="4"/></g></svg>',
    "coordinates beyond 100 m": '><g><rect width="4e5" height="40"/></g>',
    "a role that is no role": '><g><rect width="40" height="40" data-layercut="glue"/></g>',
}
"""Without the picture's data, which `whole` puts in."""

_IMAGE = (
    '<image width="50" height="50" href="data:image/png;base64,iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlE'
    'QVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg=="/>'
)


def whole(text: str) -> str:
    """A construct as a file."""
    text = text.replace("IMAGE", _IMAGE)
    return text if text.startswith("<") else f"{HEAD}{text}</svg>"
