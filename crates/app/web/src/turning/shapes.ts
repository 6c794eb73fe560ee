// What the server says of a plan's head, as it says it.

export type Triple = [number, number, number];

/** A point of the skin with the direction out of it. */
export interface OnSkin {
  at_mm: Triple;
  out: Triple;
}

export interface SitePlan {
  site: string;
  row: number;
  section?: "back" | "left" | "right";
  /** From the line where its row starts, mm; nothing in plans of before. */
  from_line_mm?: number;
  panel?: "back" | "left" | "right";
  map_mm: [[number, number], [number, number]];
  single_sided: boolean;
  side: "left" | "centre" | "right";
  along_mm: number;
  above_nape_mm: number;
  width_mm: number;
  piece: { shade: string; under_shade?: string; length_mm: number; mass_g: number; cut: "full" | "half" };
  slice_mm: number;
  slice_width_mm: number;
  hairs: number;
  load_mg_per_hair: number;
  traction_index: number;
  coverage: Record<string, number>;
  clearance_mm: number;
  clearance_to: string;
  sigma_mm: number;
  because: string[];
}

export interface Fault {
  what: string;
  where: string;
  rule: string;
  cure: string;
}

/** What a model marks; it keeps nobody from setting a sandwich. */
export interface Caution {
  site: string;
  what: string;
  rule: string;
  degree: "watch" | "heavy" | "may_show";
}

export interface SiteDrawn {
  site: SitePlan;
  tab: OnSkin[];
  fill: string;
  under_fill: string;
}

export interface Scene {
  mesh: { positions_mm: number[]; normals: number[]; indices: number[] };
  hair: number[];
  up: Triple;
  landmarks: {
    nape_hairline: Triple[];
    front_hairline: Triple[];
    left_ear: Triple[];
    right_ear: Triple[];
    left_behind_ear: Triple[];
    right_behind_ear: Triple[];
    ear_to_ear_line: Triple[];
    crown: Triple;
  };
  midline: Triple[];
  styles: { style: string; name: string }[];
  hidden_from: number;
  /** Grams that she wished for. */
  wished_g: number;
  cautions: Caution[];
  tab_height_mm: number;
  rows: { row: number; title: string; above_nape_mm: number; line: OnSkin[] }[];
  sites: SiteDrawn[];
  others: OtherLayout[];
}

/** Another layout, nearly as good. */
export interface OtherLayout {
  points_more: number;
  sites: { at: { above_nape_mm: number; along_mm: number; width_mm: number; cut: "full" | "half" }; tab: OnSkin[] }[];
}

export interface StyleDrawn {
  heat: number[];
  courses: Triple[][];
}

/** Where a sandwich stands. */
export interface At {
  above_nape_mm: number;
  along_mm: number;
  half: boolean;
}

export interface Answer {
  above_nape_mm: number;
  along_mm: number;
  site: SitePlan | null;
  tab: OnSkin[];
  faults: Fault[];
  cautions: Caution[];
}

/** What is said of an empty place: what keeps it free, or what may stand there. */
export interface WhyNot {
  says: string;
  faults: Fault[];
  cautions: Caution[];
  offer: (At & { site: SitePlan | null; tab: OnSkin[] }) | null;
}

/** A place that was tapped: of the head, or of a panel of the map. */
export type Place = { point: Triple } | { on_panel: { panel: string; at: [number, number] } };

/** How a sandwich is marked in a picture. */
export type Mark = "plain" | "chosen" | "refused";

/** A picture of the layout: the map, or the turning head. */
export interface Picture {
  set(name: string, tab: OnSkin[], fill: string, underFill: string, mark: Mark, site: SitePlan | null): void;
  remove(name: string): void;
  removeAll(): void;
  face(p: OnSkin): void;
}

/** Where a site of the plan stands. */
export function placeOf(site: SitePlan): At {
  return { above_nape_mm: site.above_nape_mm, along_mm: site.along_mm, half: site.piece.cut === "half" };
}

/** A sentence of its own: first letter large, a stop at its end. */
export function sentence(text: string): string {
  const trimmed = text.trim();
  const large = trimmed.charAt(0).toUpperCase() + trimmed.slice(1);
  return /[.!?]$/.test(large) || large === "" ? large : `${large}.`;
}
