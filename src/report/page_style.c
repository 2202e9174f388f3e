/* page_style.c - the page's style sheet.
 *
 * Colours are the drawings' own, as custom properties "--ta-limit".  Screen: one column that a phone
 * of 390 px shows without sideways scrolling, the narrow drawings below 1200 px and the wide ones
 * from there on.  Paper: the run card and nothing
 * else; without one what stands against it.
 */
#include <inttypes.h>

#include "page.h"
#include "palette.h"

static void colours(bool dark, ta_buffer *out) {
  for (ta_role role = 0; role < TA_ROLE_COUNT; role++) {
    const ta_look *look = ta_role_look(role);
    ta_buffer_add(out, "--ta-%s:#%06" PRIx32 ";", look->name, dark ? look->dark : look->light);
  }
}

static const char screen[] =
    "*{box-sizing:border-box}\n"
    "html{font:16px/1.45 system-ui,'Segoe UI',Roboto,Helvetica,Arial,sans-serif;"
    "-webkit-text-size-adjust:100%;background:var(--ta-paper);color:var(--ta-text);"
    "font-variant-numeric:tabular-nums}\n"
    "body{margin:0}\n"
    "main{max-width:1224px;margin:0 auto;padding:0 12px 3rem}\n"
    "h1,h2,h3,p,dl,dd,figure,ul{margin:0}\n"
    "header{display:flex;flex-wrap:wrap;justify-content:space-between;gap:.2rem 2rem;"
    "align-items:baseline;padding:.7rem 0 .6rem}\n"
    "h1{font-size:1.05rem;line-height:1.3;overflow-wrap:anywhere}\n"
    "h1 span{font-weight:400}\n"
    ".made,.quiet{color:var(--ta-muted);font-size:.875rem}\n"
    "h2{font-size:1.3rem;line-height:1.25;margin:2.6rem 0 .6rem;padding-top:.5rem;"
    "border-top:2px solid var(--ta-text);overflow-wrap:anywhere}\n"
    "h3{font-size:1rem;margin:1.4rem 0 .2rem}\n"
    "section>p,section>ul{max-width:46rem;overflow-wrap:anywhere}\n"
    "section p+p{margin-top:.5rem}\n"
    ".ways~p:first-letter,dd:first-letter{text-transform:uppercase}\n"
    "ul{padding-left:1.2rem}\n"
    "li{margin:.25rem 0}\n"
    "a{color:inherit}\n"
    ":focus-visible{outline:3px solid var(--ta-shaft-under-cap);outline-offset:2px}\n"
    /* the answer */
    ".answer{border-top:8px solid var(--mark);padding:.9rem 0 0;display:grid;gap:0 2.5rem}\n"
    "@media (min-width:820px){.answer{grid-template-columns:1fr minmax(17rem,27%)}"
    ".answer .facts{display:block;margin:0}.answer .facts div:first-child{border:0;padding-top:0}"
    ".strip{grid-column:1/-1}}\n"
    ".answer "
    "h2{margin:0;padding:0;border:0;font-weight:400;font-size:clamp(1.15rem,2.1vw,1.5rem)}\n"
    ".answer>*,.strip span{min-width:0}\n"
    ".answer p,.answer h2,.answer li,.strip,.readout label{overflow-wrap:anywhere}\n"
    ".answer h2+h2{margin-top:.8rem}\n"
    ".answer h2 b{display:block;font-size:clamp(2rem,5.5vw,3.6rem);line-height:1.05;"
    "letter-spacing:-.02em;color:var(--mark);margin-bottom:.25rem}\n"
    ".answer p{font-size:1.05rem;margin-top:.6rem;max-width:56rem}\n"
    ".answer{--mark:var(--ta-shaft-under-cap-text)}\n"
    ".answer.bad{--mark:var(--ta-limit)}\n"
    ".answer.open{--mark:var(--ta-choke-line)}\n"
    ".strip{margin:1.1rem 0 0}\n"
    ".strip svg{display:block;width:100%;height:22px}\n"
    ".strip p{display:flex;justify-content:space-between;gap:1rem;margin:.25rem 0 0;"
    "max-width:none;font-size:.8125rem;color:var(--ta-muted)}\n"
    ".strip p span+span{text-align:right}\n"
    ".facts{display:grid;grid-template-columns:repeat(auto-fit,minmax(min(20rem,100%),1fr));"
    "gap:0 2rem;margin-top:1rem}\n"
    ".facts div{padding:.5rem 0;border-top:1px solid var(--ta-grid)}\n"
    "dt{color:var(--ta-muted);font-size:.8125rem}\n"
    ".facts dd{overflow-wrap:anywhere}\n";

static const char tables[] =
    "table{border-collapse:collapse;width:100%;margin:.4rem 0 .6rem}\n"
    "caption{text-align:left;color:var(--ta-muted);font-size:.875rem;padding-bottom:.4rem;"
    "max-width:46rem}\n"
    "th,td{text-align:left;vertical-align:baseline;padding:.38rem 1rem .38rem 0;"
    "border-bottom:1px solid var(--ta-grid);overflow-wrap:break-word}\n"
    "thead th{color:var(--ta-muted);font-weight:400;font-size:.8125rem}\n"
    "thead th,thead td{border-bottom-color:var(--ta-text)}\n"
    "tbody th{font-weight:600}\n"
    ".controller{font-size:.9375rem}.controller th,.controller td{padding-right:.5rem}\n"
    ".number,.controller th+th,.controller td{text-align:right}\n"
    ".inputs{font-size:.875rem}\n"
    ".inputs th,.inputs td{overflow-wrap:anywhere}\n"
    ".inputs tbody th{font-weight:400}\n"
    "code{font:.875rem/1.5 ui-monospace,Menlo,Consolas,'DejaVu Sans Mono',monospace;"
    "overflow-wrap:anywhere}\n"
    "summary{cursor:pointer;padding:.4rem 0}\n"
    ".scrolls{overflow-x:auto}\n"
    ".controller caption{position:sticky;left:0}\n"
    ".controller tr>:first-child{position:sticky;left:0;background:var(--ta-paper)}\n"
    /* a narrow screen stacks the cells of a row, but for the controller's table */
    "@media screen and (max-width:819px){\n"
    "table:not(.controller) thead{position:absolute;width:1px;height:1px;overflow:hidden;"
    "clip-path:inset(50%);white-space:nowrap}\n"
    "table:not(.controller),:not(.controller)>caption,:not(.controller)>tbody{display:block}\n"
    ":not(.controller)>tbody>tr{display:grid;"
    "grid-template-columns:repeat(auto-fill,minmax(7.9rem,1fr));"
    "gap:.15rem .8rem;padding:.55rem 0;border-bottom:1px solid var(--ta-grid)}\n"
    ":not(.controller)>tbody th,:not(.controller)>tbody td{border:0;padding:0;text-align:left}\n"
    "tbody th,.inputs td,td[data-label='']{grid-column:1/-1}\n"
    "td:empty{display:none}\n"
    ":not(.controller)>tbody td[data-label]:not([data-label='']):before{content:attr(data-label);"
    "display:block;color:var(--ta-muted);font-size:.75rem;line-height:1.2}\n"
    ":not(.controller)>tbody th:not([data-label='']):before{content:attr(data-label) ' ';"
    "font-weight:400}\n"
    ".controller{font-size:.75rem}.controller caption{max-width:calc(100vw - 24px)}\n"
    ".controller thead th{font-size:.6875rem;line-height:1.2}\n"
    ".controller tr>*{padding:.25rem .3rem}\n"
    "}\n";

static const char pictures[] =
    "figure{margin:1rem 0 1.6rem}\n"
    "figcaption{color:var(--ta-muted);font-size:.9375rem;max-width:46rem}\n"
    ".ta-drawing{display:block}\n"
    ".sheet{margin:.4rem -12px 0}\n"
    ".wide{display:none}\n"
    ".narrow svg{width:100%;max-width:620px;height:auto}\n"
    "@media (min-width:820px) and (max-width:1199px){"
    ".pair{display:grid;grid-template-columns:1fr 1fr;gap:1.5rem}}\n"
    "@media (min-width:1200px){.wide{display:block}.narrow{display:none}}\n"
    ".linked{position:relative}\n"
    ".linked svg{touch-action:pan-y}\n"
    ".linked .ta-drawing{cursor:crosshair}\n"
    ".linked>input{position:absolute;opacity:0}\n"
    ".switch{display:inline-flex;align-items:center;gap:.5rem;margin:.4rem .5rem .2rem 0;"
    "padding:.45rem .8rem;border:1px solid var(--ta-muted);border-radius:2px;cursor:pointer}\n"
    ".key{width:34px;border-top:3px solid;color:var(--ta-shaft-at-target)}\n"
    ".key.of-cap{color:var(--ta-shaft-under-cap);border-top-style:dashed}\n"
    ".linked>input:not(:checked)+.switch{text-decoration:line-through;color:var(--ta-muted)}\n"
    ".linked>input:focus-visible+.switch{outline:3px solid var(--ta-shaft-under-cap);"
    "outline-offset:2px}\n"
    "#show-target:not(:checked)~.pair .ta-shaft-at-target,"
    "#show-target:not(:checked)~.pair .ta-shaft-estimate,"
    "#show-target:not(:checked)~.pair .ta-over-limit,"
    "#show-target:not(:checked)~.pair [id$='target-spots'],"
    "#show-target:not(:checked)~.pair [id$='-worst'],"
    "#show-target:not(:checked)~.pair [id$='-over'],"
    "#show-target:not(:checked)~.pair [id$='-over-from'],"
    "#show-target:not(:checked)~.pair [id$='-estimates'],"
    "#show-target:not(:checked)~.pair svg>.ta-text.ta-halo,"
    "#show-target:not(:checked)~.pair svg>path:has(+.ta-text.ta-halo),"
    "#show-target:not(:checked)~.pair svg>path:has(+[id$='-over-from']),"
    "#show-target:not(:checked)~.pair svg>.ta-paper:has(+.ta-shaft-estimate),"
    "#show-target:not(:checked)~.pair svg>.ta-shaft-estimate+.ta-muted,"
    "#show-target:not(:checked)~.pair svg>.ta-shaft-estimate+path+text.ta-muted,"
    "#show-target:not(:checked)~* .of-target,"
    "#show-cap:not(:checked)~.pair .ta-shaft-under-cap,"
    "#show-cap:not(:checked)~.pair [id$='capped-spots'],"
    "#show-cap:not(:checked)~* .of-cap{display:none}\n"
    ".cursor{stroke:var(--ta-text);stroke-width:1.5;pointer-events:none}\n"
    ".spot{fill:none;stroke-width:2.5;pointer-events:none}\n"
    ".spot.of-target{stroke:var(--ta-shaft-at-target)}\n"
    ".spot.of-cap{stroke:var(--ta-shaft-under-cap)}\n"
    ".readout{position:sticky;bottom:0;background:var(--ta-paper);margin:0 -12px;"
    "padding:.5rem 12px .6rem;"
    "border-top:2px solid var(--ta-text);border-bottom:1px solid var(--ta-grid)}\n"
    ".readout label{font-size:.875rem}\n"
    ".readout input{width:100%;margin:.3rem 0;accent-color:var(--ta-text)}\n"
    ".readout dl{display:grid;grid-template-columns:repeat(auto-fit,minmax(6.6rem,1fr));"
    "gap:.2rem .8rem}\n"
    ".readout dt{font-size:.75rem;line-height:1.2}\n"
    ".readout dd{line-height:1.3;min-height:1.3em}\n"
    ".readout dd.of-target{border-left:3px solid var(--ta-shaft-at-target);padding-left:.4rem}\n"
    ".readout dd.of-cap{border-left:3px dashed var(--ta-shaft-under-cap);padding-left:.4rem}\n"
    ":root:not(.scripts) .scripted{display:none}\n";

static const char card[] =
    ".card pre{font:.8125rem/1.4 ui-monospace,Menlo,Consolas,'DejaVu Sans Mono',"
    "'Liberation Mono',monospace;margin:0;padding:1rem;border:1px solid var(--ta-muted);"
    "width:fit-content;max-width:100%;white-space:pre-wrap;overflow-wrap:anywhere}\n"
    "@media screen and (max-width:819px){.card "
    "pre{font-size:.6875rem;letter-spacing:-.03em;white-space:break-spaces;padding:.5rem 0;"
    "border-width:1px 0}.fold{display:none}}\n"
    "@media print{\n"
    "@page{margin:12mm}\n"
    "html,body,main{background:#fff;color:#000;padding:0;margin:0;max-width:none}\n"
    "main:not(.no-card)>:not(.card),main:not(.no-card)>.card>h2,.card>.quiet,"
    ".no-card>:not(header):not(.answer):not(.card):not(.cautions){display:none}\n"
    ".card pre{border:0;padding:0;width:auto;white-space:pre;letter-spacing:0}\n"
    "}\n";

void ta_page_style(double card_pt, double leading, ta_buffer *out) {
  ta_buffer_add(out, ":root{color-scheme:light dark;--ta-shaft-under-cap-text:#0b5f94;");
  colours(false, out);
  ta_buffer_add(out,
                "}\n@media screen and (prefers-color-scheme:dark){:root{"
                "--ta-shaft-under-cap-text:#6cbcf2;");
  colours(true, out);
  ta_buffer_add(out, "}}\n%s%s%s%s", screen, tables, pictures, card);
  ta_buffer_add(out, "@media print{.card pre{font-size:%.1fpt;line-height:%.2f}}\n", card_pt,
                leading);
}
