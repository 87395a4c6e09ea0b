export const proportionsScreen = async (_at) => null;
