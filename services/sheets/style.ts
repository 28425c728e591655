/** Black on white, no shades that a worn printer loses; $WIDTH is the width of a page. */
export const STYLE = `
*{box-sizing:border-box}
body{margin:0;color:#000;background:#fff;font-family:"Liberation Sans",Arial,Helvetica,sans-serif;line-height:1.22}
.page{width:$WIDTH;margin:0 auto;break-after:page;break-inside:avoid;overflow-wrap:anywhere}
.page:last-child{break-after:auto}
h1{font-size:25pt;margin:0;line-height:1.22}
h2{margin:2mm 0 1mm;font-weight:700}
header{display:flex;justify-content:space-between;gap:4mm;border-bottom:1mm solid #000;padding-bottom:1.5mm;margin-bottom:2.5mm}
header p{margin:0;font-size:12pt}
.where{text-align:right;font-size:12pt;min-width:56mm;max-width:80mm}
.facts{display:flex;flex-wrap:wrap;gap:2mm 2.5mm;margin:0 0 2mm}
.facts>div{border:.5mm solid #000;padding:.6mm 1.8mm}
.facts dt{font-size:11pt;white-space:nowrap}
.facts dd{margin:0;font-size:20pt;font-weight:700;line-height:1.15;white-space:nowrap}
.facts small{font-size:9pt;display:block;line-height:1.05}
table{width:$WIDTH;table-layout:fixed;border-collapse:collapse;margin-bottom:2mm}
th{text-align:left;font-size:72%;font-weight:400;border-bottom:.5mm solid #000;padding:.5mm 1.2mm;vertical-align:bottom}
td{border-bottom:.2mm solid #000;padding:.7mm 1.2mm;vertical-align:top}
.strong,.clock{font-weight:700}
.clock{font-variant-numeric:tabular-nums;white-space:nowrap}
th{white-space:normal!important}
th.strong,th.clock{font-weight:400}
.figure{text-align:right;font-variant-numeric:tabular-nums;white-space:nowrap}
.blank{border-left:.2mm solid #000}
.day td{font-weight:700;border-bottom:.5mm solid #000;padding-top:1.2mm}
.tick{display:inline-block;width:.85em;height:.85em;border:.4mm solid #000;vertical-align:-.1em}
.drawings{display:flex;gap:6mm;margin:1mm 0 2mm}
figure{margin:0}
figcaption{font-size:10pt}
svg rect{fill:#fff;stroke:#000;stroke-width:6}
svg rect.edge{stroke-width:14}
svg text{font-size:150px;font-weight:700;text-anchor:middle;dominant-baseline:central}
.allergens{border:.7mm solid #000;font-size:12.5pt;font-weight:700;margin:1.5mm 0;padding:1mm 2mm}
ul{margin:0 0 1mm;padding:0;list-style:none;font-size:11pt}
li{margin-bottom:.6mm;padding-left:6mm;position:relative}
.cautions li::before{content:"!";position:absolute;left:0;top:.2mm;width:4mm;height:4.2mm;border:.4mm solid #000;font-weight:700;text-align:center;line-height:3.6mm}
.notes li::before{content:"";position:absolute;left:1mm;top:1.8mm;width:1.6mm;height:1.6mm;background:#000}
footer{font-size:9pt;border-top:.2mm solid #000;padding-top:.8mm}
footer span{white-space:nowrap}
.whole{white-space:nowrap}
.cards{display:grid;grid-template-columns:1fr 1fr;margin-bottom:2mm}
article{border:.3mm dashed #000;padding:1.3mm 3mm;overflow:hidden}
article h3{font-size:15pt;margin:0;line-height:1.15;white-space:nowrap;overflow:hidden;text-overflow:ellipsis}
article p{margin:0 0 .5mm;font-size:12pt;line-height:1.15}
article dl{display:flex;flex-wrap:wrap;gap:.4mm 3mm;margin:0}
article dt{font-size:8pt;line-height:1.15}
article dd{margin:0;font-size:11pt;line-height:1.2}
article .clock dd{font-size:14.5pt}
article .break{width:100%}
article div.last{font-weight:700;width:100%}
@media screen{body{background:#fff}.page{padding:8mm 0;border-bottom:.3mm dashed #000}}
@media print{.page{padding:0;border:0}}
`.replaceAll("\n", "");
