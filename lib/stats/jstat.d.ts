// The few functions of jstat 1.9 that distributions.ts uses; the package ships no types.
declare module "jstat" {
  const jstat: {
    jStat: {
      /** regularised incomplete beta I_x(a, b); false for x outside 0 … 1 */
      ibeta(x: number, a: number, b: number): number | false;
      ibetainv(p: number, a: number, b: number): number;
      normal: {
        inv(p: number, mean: number, sd: number): number;
        cdf(x: number, mean: number, sd: number): number;
      };
      studentt: {inv(p: number, df: number): number; cdf(t: number, df: number): number};
      chisquare: {inv(p: number, df: number): number; cdf(x: number, df: number): number};
      centralF: {
        inv(p: number, df1: number, df2: number): number;
        cdf(x: number, df1: number, df2: number): number;
      };
    };
  };
  export default jstat;
}
